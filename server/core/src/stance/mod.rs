//! Wheels, stance and springs: the rigid sprung body on four wheel springs, and what makes it lean.
