//! Energy budget, battery, inverter and welder, cables and fuses.
