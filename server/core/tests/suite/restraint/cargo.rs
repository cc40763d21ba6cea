//! The recorded forward capacities of the invented convoy's 121 cargo lines.

use ostler_core::restraint::forward_capacity;

/// Line, pieces, mass of one piece in kg, forward capacity in kgf.
const LINES: &str = "
    C001 1 6.5 60; C002 1 3.2 20; C003 1 14.0 80; C004 1 8.5 80; C005 1 46.0 120; C006 1 24.0 100;
    C007 1 24.0 100; C008 1 11.0 60; C009 1 9.0 40; C010 1 18.0 80; C011 1 14.0 80; C012 2 9.5 15;
    C013 2 16.0 200; C014 1 17.0 60; C015 1 8.0 40; C016 1 5.5 30; C017 1 22.0 100; C018 1 13.5 40;
    C019 1 9.0 60; C020 1 9.8 60; C021 1 28.0 120; C022 1 42.0 80; C023 1 22.0 80; C024 1 16.0 80;
    C025 1 12.0 60; C026 1 9.0 60; C027 1 11.0 10; C028 2 3.2 20; C029 1 4.5 8; C030 1 8.0 30;
    C031 1 30.0 150; C032 1 9.5 60; C033 1 8.0 60; C034 1 7.5 60; C035 1 7.0 200; C036 1 6.0 60;
    C037 1 8.0 60; C038 1 5.0 60; C039 1 9.0 60; C040 1 13.0 100; C041 1 39.0 80; C042 1 39.0 80;
    C043 1 11.0 60; C044 1 19.0 100; C045 1 8.0 40; C046 1 12.0 60; C047 1 37.0 110; C048 1 23.0 80;
    C049 1 14.0 80; C050 1 17.0 80; C051 1 9.0 40; C052 1 31.0 200; C053 2 15.0 200; C054 1 9.5 60;
    C055 1 3.0 15; C056 2 3.2 20; C057 1 5.5 40; C058 1 6.0 6; C059 1 3.5 30; C060 1 9.0 80;
    C061 1 27.0 250; C062 1 27.0 250; C063 4 6.0 80; C064 1 33.0 250; C065 1 36.0 110; C066 2 21.0 80;
    C067 1 13.0 80; C068 2 13.5 80; C069 3 9.5 20; C070 3 16.0 25; C071 1 41.0 80; C072 1 29.0 200;
    C073 4 2.6 40; C074 1 9.0 60; C075 1 21.0 100; C076 1 8.0 40; C077 1 17.0 60; C078 1 13.5 40;
    C079 1 8.0 40; C080 1 18.0 80; C081 1 13.0 60; C082 1 4.0 40; C083 1 6.0 40; C084 1 14.0 60;
    C085 1 9.0 8; C086 2 3.2 20; C087 1 6.5 30; C088 1 3.5 20; C089 1 58.0 30; C090 1 19.0 250;
    C091 1 24.0 150; C092 1 46.0 800; C093 1 43.0 120; C094 1 37.6 60; C095 1 92.0 300; C096 1 49.0 250;
    C097 1 18.0 100; C098 1 104.0 400; C099 1 104.0 250; C100 1 62.0 400; C101 1 26.0 100; C102 1 22.0 100;
    C103 1 31.0 120; C104 1 17.0 120; C105 1 18.0 120; C106 3 19.0 250; C107 1 21.5 250; C108 1 68.0 300;
    C109 2 27.0 150; C110 1 19.0 100; C111 1 41.0 250; C112 1 36.0 250; C113 6 21.5 250; C114 1 34.0 250;
    C115 1 19.5 60; C116 2 17.0 60; C117 1 33.0 250; C118 1 14.0 80; C119 2 14.5 60; C120 1 13.0 60;
    C121 1 15.0 60;
";

/// The invented convoy states its own shortfalls at 0.8 forward: C012 15.2 of 15 kgf, C069 22.8 of 20, C070 38.4 of 25,
/// C089 46.4 of 30, and no other.
#[test]
fn exactly_the_four_stated_shortfalls_are_found() {
    let mut short = Vec::new();
    let lines: Vec<&str> = LINES
        .split(';')
        .map(str::trim)
        .filter(|line| !line.is_empty())
        .collect();
    assert_eq!(lines.len(), 121);
    for line in lines {
        let words: Vec<&str> = line.split(' ').collect();
        let [id, pieces, unit_mass_kg, capacity_kgf] = words[..] else {
            panic!("{line}")
        };
        let capacity_kgf: f64 = capacity_kgf.parse().unwrap();
        let found = forward_capacity(
            pieces.parse().unwrap(),
            unit_mass_kg.parse().unwrap(),
            Some(capacity_kgf),
            0.8,
        )
        .unwrap();
        if found.shortfall_kgf.unwrap() > 0.0 {
            short.push((id, (found.required_kgf * 1e6).round() / 1e6, capacity_kgf));
        }
    }
    assert_eq!(
        short,
        [
            ("C012", 15.2, 15.0),
            ("C069", 22.8, 20.0),
            ("C070", 38.4, 25.0),
            ("C089", 46.4, 30.0)
        ]
    );
}

#[test]
fn an_exact_capacity_is_no_shortfall_and_an_unknown_one_no_answer() {
    let exact = forward_capacity(3, 0.1, Some(0.8 * 0.3), 0.8).unwrap();
    assert_eq!(exact.shortfall_kgf, Some(0.0));
    assert_eq!(forward_capacity(1, 10.0, None, 0.8).unwrap().shortfall_kgf, None);
    let refused = forward_capacity(0, -1.0, Some(f64::NAN), 11.0).unwrap_err();
    assert_eq!(refused.violations.len(), 4);
}
