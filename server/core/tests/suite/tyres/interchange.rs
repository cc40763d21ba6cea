//! Checks of which spare serves which vehicle, on the invented convoy.

use ostler_core::tyres::designation::{Construction, Hundredths, TubeMark};
use ostler_core::tyres::interchange::{Point, SpareKind, SpareRim, SpareTyre};
use ostler_core::tyres::wheel_fit::{RimSeat, Tube};
use ostler_core::tyres::{InterchangePolicy, NutSeat, Outcome, Spare, WheelEnd, interchange};
use proptest::prelude::*;

use super::wheels::{CONE, thread};

struct Wheel {
    bolt_circle: &'static str,
    stud: &'static str,
    protrusion_mm: f64,
    hub_mm: f64,
    diameter_mm: f64,
    capacity_kg: f64,
    load_kg: f64,
    tube: TubeMark,
    seat: Option<NutSeat>,
}

/// The wheels of the invented convoy; loads are half of the heavier axle's rating.
fn convoy() -> [(&'static str, Wheel); 4] {
    let wheel = Wheel {
        bolt_circle: "5x150",
        stud: "M14x1.5",
        protrusion_mm: 33.0,
        hub_mm: 110.0,
        diameter_mm: 804.0,
        capacity_kg: 1550.0,
        load_kg: 1125.0,
        tube: TubeMark::Tubeless,
        seat: Some(CONE),
    };
    let (v2, v4) = (
        Wheel {
            bolt_circle: "6x139.7",
            stud: "M12x1.5",
            protrusion_mm: 27.0,
            hub_mm: 93.1,
            diameter_mm: 803.0,
            ..wheel
        },
        Wheel {
            bolt_circle: "6x222.25",
            stud: "M20x1.5",
            protrusion_mm: 48.0,
            hub_mm: 164.0,
            diameter_mm: 917.0,
            ..wheel
        },
    );
    let v3 = Wheel {
        protrusion_mm: 36.0,
        diameter_mm: 808.0,
        capacity_kg: 1250.0,
        load_kg: 1225.0,
        tube: TubeMark::TubeType,
        ..wheel
    };
    [
        ("V1", wheel),
        (
            "V2",
            Wheel {
                capacity_kg: 1450.0,
                load_kg: 1010.0,
                ..v2
            },
        ),
        ("V3", v3),
        (
            "V4",
            Wheel {
                capacity_kg: 2725.0,
                load_kg: 2300.0,
                seat: None,
                ..v4
            },
        ),
    ]
}

fn ends_and_spares() -> (Vec<WheelEnd>, Vec<Spare>) {
    convoy()
        .into_iter()
        .map(|(name, wheel)| {
            let bolt_circle = Some(wheel.bolt_circle.parse().unwrap());
            let stud_thread = Some(thread(wheel.stud));
            let end = WheelEnd {
                vehicle: name.to_owned(),
                bolt_circle,
                hub_diameter_mm: Some(wheel.hub_mm),
                stud_thread,
                stud_protrusion_mm: Some(wheel.protrusion_mm),
                nut_seats: wheel.seat.map(|seat| vec![seat]),
                tyre_diameter_mm: Some(wheel.diameter_mm),
                wheel_load_max_kg: Some(wheel.load_kg),
                is_dual: false,
                tube_mark: Some(wheel.tube),
                construction: Some(Construction::Radial),
                rim: None,
                offset_mm: None,
            };
            let rim = SpareRim {
                bolt_circle,
                hub_bore_mm: Some(wheel.hub_mm),
                stud_thread,
                nut_seat: wheel.seat,
                nave_thickness_mm: None,
                offset_mm: None,
            };
            let tyre = SpareTyre {
                rim_in: None,
                diameter_mm: Some(wheel.diameter_mm),
                capacity_kg: Some(wheel.capacity_kg),
                dual_capacity_kg: None,
                tube_mark: Some(wheel.tube),
                construction: Some(Construction::Radial),
                tube: None,
            };
            (
                end,
                Spare {
                    name: format!("spare of {name}"),
                    kind: SpareKind::Wheel(rim, tyre),
                },
            )
        })
        .unzip()
}

const POLICY: InterchangePolicy = InterchangePolicy {
    diameter_difference_max_percent: 1.0,
    diameter_difference_emergency_percent: 3.0,
    hub_clearance_max_mm: 0.5,
    stud_engagement_min_diameters: None,
    offset_difference_max_mm: None,
};

/// The stated verdicts of the invented convoy: V1 and V3 share rims but their tyres differ (emergency only);
/// no other pair shares a bolt circle.
#[test]
fn the_convoys_wheels_are_shared_as_stated() {
    let (ends, spares) = ends_and_spares();
    let results = interchange(&spares, &ends, &POLICY).unwrap();
    assert_eq!(results.len(), 16);
    for result in &results {
        let pair = (
            result.spare.trim_start_matches("spare of "),
            result.vehicle.as_str(),
        );
        let (outcome, rim) = match pair {
            ("V1", "V3") | ("V3", "V1") => (Outcome::EmergencyOnly, Outcome::Serves),
            // The truck's nut seat is not recorded.
            ("V4", "V4") => (Outcome::NotKnown, Outcome::NotKnown),
            (a, b) if a == b => (Outcome::Serves, Outcome::Serves),
            _ => (Outcome::DoesNotServe, Outcome::DoesNotServe),
        };
        assert_eq!(
            (result.outcome, result.rim_outcome()),
            (outcome, rim),
            "{pair:?}: {:?}",
            result.findings
        );
        assert!(!result.engagement_compared);
    }
    let truck = results
        .iter()
        .find(|result| result.spare.ends_with("V4") && result.vehicle == "V4")
        .unwrap();
    assert_eq!(truck.at_best, Outcome::Serves);
    assert_eq!(
        truck.missing().collect::<Vec<_>>(),
        ["spare.rim.nut_seat, vehicle.nut_seats"]
    );
}

#[test]
fn engagement_when_asked_for_needs_the_nave() {
    let (ends, mut spares) = ends_and_spares();
    let policy = InterchangePolicy {
        stud_engagement_min_diameters: Some(1.0),
        ..POLICY
    };
    let result = &interchange(&spares[..1], &ends[2..3], &policy).unwrap()[0];
    assert_eq!(
        (result.outcome, result.at_best),
        (Outcome::NotKnown, Outcome::EmergencyOnly)
    );
    assert_eq!(
        result.missing().collect::<Vec<_>>(),
        ["spare.rim.nave_thickness_mm"]
    );
    if let SpareKind::Wheel(rim, _) = &mut spares[0].kind {
        rim.nave_thickness_mm = Some(30.0);
    }
    let result = &interchange(&spares[..1], &ends[2..3], &policy).unwrap()[0];
    assert_eq!(result.outcome, Outcome::DoesNotServe);
    let engagement = result
        .findings
        .iter()
        .find(|finding| finding.point == Point::StudEngagement)
        .unwrap();
    assert!(
        engagement.reason.starts_with("6.0 mm engaged"),
        "{}",
        engagement.reason
    );
}

#[test]
fn a_carcass_is_judged_on_the_rim_it_would_go_to() {
    let (mut ends, _) = ends_and_spares();
    ends[0].rim = Some(RimSeat {
        diameter_in: Hundredths(1600),
        airtight: Some(true),
    });
    ends[2].rim = Some(RimSeat {
        diameter_in: Hundredths(1600),
        airtight: Some(false),
    });
    let tyre = SpareTyre {
        rim_in: Some(Hundredths(1600)),
        diameter_mm: Some(804.0),
        capacity_kg: Some(1550.0),
        dual_capacity_kg: None,
        tube_mark: Some(TubeMark::Tubeless),
        construction: Some(Construction::Radial),
        tube: Some(Tube::None),
    };
    let carcass = |tyre: SpareTyre| {
        [Spare {
            name: "carcass".to_owned(),
            kind: SpareKind::Tyre(tyre),
        }]
    };
    let results = interchange(&carcass(tyre.clone()), &ends, &POLICY).unwrap();
    let outcomes: Vec<Outcome> = results.iter().map(|result| result.outcome).collect();
    use Outcome::{DoesNotServe, NotKnown, Serves};
    // V2's rim is not recorded; V3's split rim needs a tube; V4 asks for more capacity and diameter.
    assert_eq!(outcomes, [Serves, NotKnown, DoesNotServe, DoesNotServe]);
    let without_tube_stated = SpareTyre { tube: None, ..tyre };
    let results = interchange(&carcass(without_tube_stated), &ends[..1], &POLICY).unwrap();
    assert_eq!(results[0].missing().collect::<Vec<_>>(), ["spare.tyre.tube"]);
}

#[test]
fn absurd_numbers_are_refused_with_their_field() {
    let (mut ends, spares) = ends_and_spares();
    ends[1].hub_diameter_mm = Some(f64::NAN);
    let policy = InterchangePolicy {
        diameter_difference_emergency_percent: 0.5,
        ..POLICY
    };
    let refused = interchange(&spares, &ends, &policy).unwrap_err();
    let fields: Vec<&str> = refused
        .violations
        .iter()
        .map(|violation| violation.field.as_str())
        .collect();
    assert_eq!(
        fields,
        [
            "policy.diameter_difference_emergency_percent",
            "vehicles[1].hub_diameter_mm"
        ]
    );
    let many = vec![spares[0].clone(); 201];
    assert!(interchange(&many, &ends, &POLICY).is_err());
}

proptest! {
    #[test]
    fn a_looser_policy_never_judges_worse(first in 0.0..3.0_f64, wider in 0.0..3.0_f64, spare_mm in 700.0..900.0_f64) {
        let (ends, mut spares) = ends_and_spares();
        if let SpareKind::Wheel(_, tyre) = &mut spares[0].kind {
            tyre.diameter_mm = Some(spare_mm);
        }
        let judged = |percent: f64| {
            let policy = InterchangePolicy {
                diameter_difference_max_percent: percent,
                diameter_difference_emergency_percent: 2.0 * percent,
                ..POLICY
            };
            interchange(&spares[..1], &ends[..1], &policy).unwrap()[0].outcome
        };
        prop_assert!(judged(first + wider) <= judged(first));
    }
}
