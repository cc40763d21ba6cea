//! Tyres and wheels: designations, capacities, pressures, and which wheel fits where.
