//! Checks of tyre designations: reading, refusing, printing.

use ostler_core::tyres::SpeedSymbol;
use ostler_core::tyres::designation::{
    Construction, Designation, Hundredths, ServiceDescription, Size, TubeMark, TyreClass,
};
use proptest::prelude::*;

use super::parse;

#[test]
fn designations_of_each_kind_print_canonically() {
    let cases = [
        ("265/75R16 123/120Q", "265/75R16 123/120Q"),
        ("LT265/75R16", "LT265/75R16"),
        ("265/75r16 LT tubeless", "LT265/75R16 TL"),
        ("P265/70R17 116T", "P265/70R17 116T"),
        ("295/80R17.5", "295/80R17.5"),
        ("37x12.50R17.5LT", "37x12.50R17.5LT"),
        ("37X12.5R17.5 lt 128Q", "37x12.50R17.5LT 128Q"),
        ("33×12.50-15", "33x12.50-15"),
        ("7.50R16 tube type", "7.50R16 TT"),
        ("7.50-16 8PR", "7.50-16 8PR"),
        ("6.00-16 LR C", "6.00-16 LR C"),
        ("9.5R17.5", "9.5R17.5"),
        ("205R16C 110/108R", "205R16C 110/108R"),
        ("  235/85 R 16  load range e XL ", "235/85R16 LR E XL"),
        ("T155/80D17", "T155/80D17"),
    ];
    for (written, canonical) in cases {
        assert_eq!(parse(written).to_string(), canonical, "{written}");
    }
    let service = parse("265/75R16 123/120Q").service.unwrap();
    assert_eq!(
        (service.load_index_single, service.load_index_dual),
        (123, Some(120))
    );
    assert_eq!(service.speed_symbol, SpeedSymbol::Q);
    assert_eq!(parse("7.50R16 TT").tube, Some(TubeMark::TubeType));
}

#[test]
fn a_refused_designation_says_where_and_what() {
    let cases = [
        ("", 1, "a section width or an overall diameter"),
        ("265/75Q16", 7, "the construction: R, B, D or -"),
        ("265/R16", 5, "an aspect ratio in per cent"),
        ("265/750R16", 5, "an aspect ratio of 20 to 110 per cent"),
        ("265/75R", 8, "a rim diameter in inches"),
        (
            "265/75R16.3",
            8,
            "a rim diameter of 8 to 30 inches in whole or half inches",
        ),
        (
            "26/75R16",
            1,
            "a section width of 75 to 500 mm in whole millimetres",
        ),
        (
            "15x12.50R16",
            1,
            "an overall diameter of 20 to 60 inches, larger than the rim",
        ),
        (
            "265/75R16 123/120",
            18,
            "a speed symbol, or PR after a ply rating",
        ),
        ("265/75R16 123/Q", 15, "a load index for dual fitting"),
        ("265/75R16 999Q", 11, "a load index of 0 to 279"),
        ("LT265/75R16 LT", 13, "the class only once"),
        ("265/75R16 123Q 8PR 10PR", 20, "the ply rating only once"),
        ("265/75R16 TL123Q", 11, "a service description"),
        ("265/75R16X", 10, "LT, C, a space or the end"),
        ("7.505R16", 1, "at most four digits and two decimals"),
        ("99999999/75R16", 1, "at most four digits"),
    ];
    for (written, position, expected) in cases {
        let refused = written.parse::<Designation>().expect_err(written);
        assert_eq!(refused.position, position, "{written}: {refused}");
        assert!(refused.expected.contains(expected), "{written}: {refused}");
    }
    assert!("7".repeat(10_000).parse::<Designation>().is_err());
}

fn sizes() -> impl Strategy<Value = Size> {
    let rim = (16_u32..=60).prop_map(|halves| Hundredths(halves * 50));
    prop_oneof![
        (75_u32..=500, proptest::option::of(20_u32..=110), rim.clone()).prop_map(
            |(section_width_mm, aspect_percent, rim_in)| Size::Metric {
                section_width_mm,
                aspect_percent,
                rim_in
            }
        ),
        (3_001_u32..=6_000, 400_u32..=2_000, rim.clone()).prop_map(|(diameter, section, rim_in)| {
            Size::Flotation {
                diameter_in: Hundredths(diameter),
                section_width_in: Hundredths(section),
                rim_in,
            }
        }),
        (300_u32..=1_800, rim).prop_map(|(section, rim_in)| Size::OldInch {
            section_width_in: Hundredths(section),
            rim_in
        }),
    ]
}

fn designations() -> impl Strategy<Value = Designation> {
    let construction = proptest::sample::select(vec![
        Construction::Radial,
        Construction::Diagonal,
        Construction::BiasBelted,
    ]);
    let class = proptest::sample::select(vec![
        None,
        Some(TyreClass::Passenger),
        Some(TyreClass::LightTruck),
        Some(TyreClass::Commercial),
        Some(TyreClass::Temporary),
        Some(TyreClass::Trailer),
    ]);
    let symbol = proptest::sample::select(SpeedSymbol::ALL.to_vec());
    let service =
        (0_u32..=279, proptest::option::of(0_u32..=279), symbol).prop_map(|(single, dual, speed_symbol)| {
            ServiceDescription {
                load_index_single: single,
                load_index_dual: dual,
                speed_symbol,
            }
        });
    let tube = proptest::sample::select(vec![None, Some(TubeMark::Tubeless), Some(TubeMark::TubeType)]);
    let load_range = proptest::option::of(proptest::char::range('A', 'N'));
    let marks = (proptest::option::of(2_u32..=40), load_range, any::<bool>(), tube);
    (sizes(), construction, class, proptest::option::of(service), marks).prop_map(
        |(size, construction, class, service, (ply_rating, load_range, extra_load, tube))| Designation {
            size,
            construction,
            class,
            service,
            ply_rating,
            load_range,
            extra_load,
            tube,
        },
    )
}

proptest! {
    #[test]
    fn what_is_printed_parses_back(designation in designations()) {
        let printed = designation.to_string();
        prop_assert_eq!(printed.parse::<Designation>(), Ok(designation), "{}", printed);
    }

    #[test]
    fn no_text_makes_the_parser_fail_otherwise_than_by_an_error(text in ".{0,100}") {
        if let Err(refused) = text.parse::<Designation>() {
            prop_assert!(refused.position >= 1 && refused.position <= 101);
        }
    }

    #[test]
    fn text_like_a_designation_is_read_or_refused_within_itself(text in "[LTP]{0,2}[0-9./xRD-]{0,14}( [0-9/PRLQTC]{1,6}){0,3}") {
        match text.parse::<Designation>() {
            Ok(read) => prop_assert_eq!(read.to_string().parse::<Designation>(), Ok(read)),
            Err(refused) => prop_assert!(refused.position <= text.chars().count() + 1),
        }
    }
}
