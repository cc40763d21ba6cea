//! Restraint of heavy items: what a standard asks for and what friction, lashings and blocking give.
