//! Checks of studs, nut seats and tubes.

use ostler_core::tyres::designation::{Construction, Hundredths, TubeMark};
use ostler_core::tyres::thread::ThreadForm;
use ostler_core::tyres::wheel_fit::{RimSeat, StudJoint, Tube, TubeFit, TyreSeat, tube_fit};
use ostler_core::tyres::{BoltCircle, NutSeat, StudThread, stud_engagement};
use proptest::prelude::*;

pub(super) fn thread(text: &str) -> StudThread {
    text.parse().unwrap_or_else(|refused| panic!("{text}: {refused}"))
}

pub(super) const CONE: NutSeat = NutSeat::Cone {
    included_angle_deg: 60.0,
};

#[test]
fn threads_print_canonically_and_say_what_is_wrong() {
    for (written, canonical) in [
        ("M14x1.5", "M14x1.5"),
        ("m12 x 1.25 lh", "M12x1.25 LH"),
        ("1/2-20 UNF", "1/2-20 UNF"),
        ("9/16 - 18", "9/16-18"),
    ] {
        assert_eq!(thread(written).to_string(), canonical);
    }
    for (written, position, expected) in [
        ("M14", 4, "x and the pitch in mm"),
        ("M140x1.5", 2, "6 to 36 mm"),
        ("M14x9", 5, "0.5 to 4 mm"),
        ("14x1.5", 3, "/ of a fraction"),
        ("1/0-20", 1, "1/4 to 1 1/2 inch"),
        ("1/2-0", 5, "4 to 48 threads"),
        ("1/2-20 UNX", 8, "LH or the end"),
    ] {
        let refused = written.parse::<StudThread>().expect_err(written);
        assert_eq!(refused.position, position, "{written}: {refused}");
        assert!(refused.expected.contains(expected), "{written}: {refused}");
    }
    // Half an inch is 12.7 mm: near to M12, and no nut of the one runs on the other.
    assert!(!thread("M12x1.5").takes_nut_of(&thread("1/2-20 UNF")));
    assert!(thread("1/2-20").takes_nut_of(&thread("1/2-20 UNF")));
    assert!(!thread("M14x1.5").takes_nut_of(&thread("M14x1.5 LH")));
    assert!(matches!(
        thread("M14x1.5").form,
        ThreadForm::Metric {
            diameter_mm: Hundredths(1400),
            ..
        }
    ));
    assert_eq!("6x139.7".parse::<BoltCircle>().unwrap().to_string(), "6x139.7");
    assert_eq!("6x5.5".parse::<BoltCircle>().unwrap_err().position, 3);
}

/// The invented substitution of road wheels: studs stand out 27 mm, nave 18 mm proposed for 8 mm fitted,
/// M12x1.5, 1.0 diameter asked for: 9 mm against 12 mm.
#[test]
fn a_thick_nave_leaves_too_little_engagement() {
    let joint = StudJoint {
        thread: thread("M12x1.5"),
        stud_protrusion_mm: 27.0,
        nave_thickness_mm: 18.0,
        nut_thread_into_nave_mm: 0.0,
        nut_thread_length_mm: None,
        engagement_min_diameters: 1.0,
    };
    let proposed = stud_engagement(&joint).unwrap();
    assert_eq!(
        (
            proposed.engagement_mm,
            proposed.required_mm,
            proposed.shortfall_mm
        ),
        (9.0, 12.0, 3.0)
    );
    assert_eq!((proposed.turns, proposed.diameters), (6.0, 0.75));
    assert!(!proposed.is_enough());
    let fitted = stud_engagement(&StudJoint {
        nave_thickness_mm: 8.0,
        ..joint
    })
    .unwrap();
    assert!(fitted.is_enough() && (fitted.engagement_mm - 19.0).abs() < 1e-12);
    // Both remedies: studs 8 mm longer, or shank nuts.
    assert!(
        stud_engagement(&StudJoint {
            stud_protrusion_mm: 35.0,
            ..joint
        })
        .unwrap()
        .is_enough()
    );
    assert!(
        stud_engagement(&StudJoint {
            nut_thread_into_nave_mm: 10.0,
            ..joint
        })
        .unwrap()
        .is_enough()
    );
    // A nut with 10 mm of thread never engages 12.
    let short_nut = StudJoint {
        stud_protrusion_mm: 60.0,
        nut_thread_length_mm: Some(10.0),
        ..joint
    };
    let short_nut = stud_engagement(&short_nut).unwrap();
    assert!(short_nut.limited_by_nut && !short_nut.is_enough());
    let refused = StudJoint {
        stud_protrusion_mm: f64::NAN,
        engagement_min_diameters: 0.0,
        ..joint
    };
    assert_eq!(stud_engagement(&refused).unwrap_err().violations.len(), 2);
    assert!(!CONE.fits(&NutSeat::FlatWithWasher));
    assert!(!CONE.fits(&NutSeat::Cone {
        included_angle_deg: 90.0
    }));
}

#[test]
fn tubes_follow_the_rim() {
    let inch = |whole: u32| Hundredths(whole * 100);
    let tubeless = TyreSeat {
        rim_in: inch(16),
        construction: Construction::Radial,
        tube_mark: Some(TubeMark::Tubeless),
    };
    let tube_type = TyreSeat {
        tube_mark: Some(TubeMark::TubeType),
        ..tubeless
    };
    let one_piece = RimSeat {
        diameter_in: inch(16),
        airtight: Some(true),
    };
    let split = RimSeat {
        airtight: Some(false),
        ..one_piece
    };
    let radial_tube = Tube::Fitted {
        radial_rated: Some(true),
    };
    assert_eq!(tube_fit(&tubeless, &one_piece, Tube::None), TubeFit::Fits);
    assert!(matches!(
        tube_fit(&tubeless, &split, Tube::None),
        TubeFit::Refused(_)
    ));
    assert!(matches!(
        tube_fit(&tubeless, &split, radial_tube),
        TubeFit::Makeshift(_)
    ));
    assert_eq!(tube_fit(&tube_type, &split, radial_tube), TubeFit::Fits);
    assert!(matches!(
        tube_fit(&tube_type, &one_piece, Tube::None),
        TubeFit::Refused(_)
    ));
    assert!(matches!(
        tube_fit(
            &tube_type,
            &split,
            Tube::Fitted {
                radial_rated: Some(false)
            }
        ),
        TubeFit::Refused(_)
    ));
    assert!(matches!(
        tube_fit(&tube_type, &split, Tube::Fitted { radial_rated: None }),
        TubeFit::NotKnown(_)
    ));
    let unseen = RimSeat {
        airtight: None,
        ..one_piece
    };
    assert_eq!(
        tube_fit(&tubeless, &unseen, Tube::None),
        TubeFit::NotKnown("whether the rim is airtight")
    );
    // A 16 inch tyre on a 16.5 inch rim.
    let half_inch_over = RimSeat {
        diameter_in: Hundredths(1650),
        airtight: Some(true),
    };
    assert!(matches!(
        tube_fit(&tubeless, &half_inch_over, Tube::None),
        TubeFit::Refused(_)
    ));
}

proptest! {
    #[test]
    fn threads_print_and_parse_back(hundredths in 600_u32..=3_600, pitch in 50_u32..=400, left_hand in any::<bool>()) {
        let form = ThreadForm::Metric { diameter_mm: Hundredths(hundredths), pitch_mm: Hundredths(pitch) };
        let thread = StudThread { form, left_hand };
        prop_assert_eq!(thread.to_string().parse::<StudThread>(), Ok(thread));
    }

    #[test]
    fn a_thicker_nave_never_engages_more(
        protrusion_mm in 0.0..100.0_f64,
        nave_mm in 0.0..50.0_f64,
        more_mm in 0.0..50.0_f64,
    ) {
        let engaged = |nave_thickness_mm| {
            let joint = StudJoint {
                thread: thread("M14x1.5"),
                stud_protrusion_mm: protrusion_mm,
                nave_thickness_mm,
                nut_thread_into_nave_mm: 0.0,
                nut_thread_length_mm: None,
                engagement_min_diameters: 1.0,
            };
            stud_engagement(&joint).unwrap()
        };
        let (thin, thick) = (engaged(nave_mm), engaged(nave_mm + more_mm));
        prop_assert!(thick.engagement_mm <= thin.engagement_mm && thick.engagement_mm >= 0.0);
        prop_assert!((thin.turns * 1.5 - thin.engagement_mm).abs() < 1e-9);
        prop_assert_eq!(thin.is_enough(), thin.engagement_mm >= 14.0);
    }
}
