//! Height of the centre of mass, static stability factor and rigid-body ceiling angles.
