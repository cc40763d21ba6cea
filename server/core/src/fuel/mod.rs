//! Fuel over the legs of a departure: consumption, drawdown, reserve, sharing over the convoy.
