//! Spares: cover against Poisson demand and the best kit under a mass budget.
