//! Constants that several disciplines share.

/// Standard acceleration of free fall, m/s2: 9.80665 exactly by definition (ISO 80000-3 and the SI brochure; from memory, not
/// verified). One kgf is this many newtons.
pub const STANDARD_GRAVITY_M_PER_S2: f64 = 9.806_65;
