//! Gearbox, transfer case, axles and tyres: overall ratios, speeds, speedometer, grade ability.
