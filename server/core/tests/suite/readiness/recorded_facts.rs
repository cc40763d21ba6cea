//! Facts that the record answers: their values, and that they count before what an item states.

use std::collections::BTreeSet;

use ostler_core::answer::Answer;
use ostler_core::loads::ConvoyLoads;
use ostler_core::readiness::Packs;
use ostler_core::record::{
    Departure, Fact, FactDeclaration, FactType, Fitment, Fluid, Record, RecordFigure, RuleGate, RuleTopic,
    TankMounting,
};
use ostler_core::rules::{FactOrigin, ItemAssessment, RecordFigures};

use super::fixture::{category, gate, item, of, pack, ready};
use super::tyre_fixture::marking;
use crate::builder::{at, fill, fitment, id, name, slot, tank, v1, v1_mut};

fn figure(record: &Record, departure: &Departure, figure: RecordFigure) -> Option<Fact> {
    let loads = ConvoyLoads::of(record, departure);
    let figures = RecordFigures::of(&loads, Some(v1(record)));
    figures.get(figure).map(|recorded| recorded.value)
}

fn number(record: &Record, departure: &Departure, asked: RecordFigure) -> f64 {
    match figure(record, departure, asked) {
        Some(Fact::Number(number)) => number,
        other => panic!("{asked:?}: {other:?}"),
    }
}

fn near(value: f64, expected: f64) {
    assert!((value - expected).abs() < 1e-3, "{value} {expected}");
}

/// An inch is 25.4 mm (exact by definition): two inches more are 50.8 mm, and 2 of 31 are 6.452 %.
#[test]
fn tyres_are_held_against_the_placard() {
    let (mut record, departure) = ready();
    let placard = v1_mut(&mut record).specification.tyre_placard.as_mut().unwrap();
    placard.designation = "31x10.50R15LT".parse().unwrap();
    placard.diameter_mm = None;
    marking(&mut record).designation = "33x12.50R15LT".parse().unwrap();
    near(
        number(&record, &departure, RecordFigure::TyreDiameterIncreaseMm),
        50.8,
    );
    near(
        number(&record, &departure, RecordFigure::TyreDiameterIncreasePercent),
        6.452,
    );
    near(
        number(&record, &departure, RecordFigure::TyreWidthRatio),
        12.5 / 10.5,
    );
    let suspension_mm = number(&record, &departure, RecordFigure::SuspensionLiftMm);
    near(
        number(&record, &departure, RecordFigure::LiftMm),
        suspension_mm + 25.4,
    );
    v1_mut(&mut record).fitments.remove("tyre.rear.left");
    assert_eq!(
        figure(&record, &departure, RecordFigure::TyreDiameterIncreaseMm),
        None
    );
}

/// A spring as much longer as asked for raises its axle by that much where it stands over the wheel: geometry.
#[test]
fn longer_springs_are_a_lift() {
    let (mut record, departure) = ready();
    let before_mm = number(&record, &departure, RecordFigure::SuspensionLiftMm);
    let springs: BTreeSet<_> = v1(&record)
        .fitments
        .iter()
        .filter(|(place, _)| place.starts_with("spring."))
        .filter_map(|(_, fitment)| fitment.part.clone())
        .collect();
    for spring in springs {
        let length = record
            .parts
            .get_mut(&spring)
            .unwrap()
            .figures
            .get_mut("free_length_mm")
            .unwrap();
        *length += 40.0;
    }
    let after_mm = number(&record, &departure, RecordFigure::SuspensionLiftMm);
    assert!(
        (30.0..=60.0).contains(&(after_mm - before_mm)),
        "{before_mm} {after_mm}"
    );
}

#[test]
fn roof_masses_seats_and_containers_come_from_the_record() {
    let (mut record, mut departure) = ready();
    // The vehicle of the tests: rack of 30 kg rated for 120 kg, half of it off road, on a roof for 150 kg.
    near(number(&record, &departure, RecordFigure::RoofLimitKg), 150.0);
    near(number(&record, &departure, RecordFigure::RackRatingKg), 60.0);
    let on_rack_kg = number(&record, &departure, RecordFigure::RackLoadKg);
    near(
        number(&record, &departure, RecordFigure::RoofTotalKg),
        on_rack_kg + 30.0,
    );
    near(number(&record, &departure, RecordFigure::GrossMassKg), 3_500.0);
    near(
        number(&record, &departure, RecordFigure::OriginalGrossMassKg),
        3_200.0,
    );
    let states = ostler_core::loads::states(&record, &departure, v1(&record));
    let heaviest_kg = states.iter().map(|state| state.total.load_kg).fold(0.0, f64::max);
    near(
        number(&record, &departure, RecordFigure::TotalMassKg),
        heaviest_kg,
    );

    assert_eq!(figure(&record, &departure, RecordFigure::SeatsRemoved), None);
    let mut seat = slot("seat.rear", 1_800.0);
    seat.kind = id("seat");
    v1_mut(&mut record).specification.slots.push(seat);
    assert_eq!(figure(&record, &departure, RecordFigure::SeatsRemoved), None);
    let empty = Fitment {
        part: None,
        ..fitment("v1", "seat.rear", "none")
    };
    v1_mut(&mut record).fitments.insert(id("seat.rear"), empty);
    assert_eq!(
        figure(&record, &departure, RecordFigure::SeatsRemoved),
        Some(Fact::YesNo(true))
    );

    near(number(&record, &departure, RecordFigure::PackagedDieselL), 0.0);
    let mut cans = tank("cans", Fluid::Diesel, 40.0, at(3_200.0, 0.0));
    cans.mounting = TankMounting::Container;
    v1_mut(&mut record).specification.tanks.push(cans);
    assert_eq!(
        figure(&record, &departure, RecordFigure::PackagedDieselL),
        None,
        "its fill is not known"
    );
    departure.vehicles[0].fills.push(fill("cans", 38.0));
    near(number(&record, &departure, RecordFigure::PackagedDieselL), 38.0);
    near(number(&record, &departure, RecordFigure::PackagedPetrolL), 0.0);
}

/// A departure whose only pack asks how much the vehicle may weigh, and an item that states `stated_kg`.
fn asked(stated_kg: Option<f64>) -> (Record, Departure) {
    let (mut record, mut departure) = ready();
    let mut asking = pack("asking", "2027-02-01");
    asking.facts = vec![FactDeclaration {
        id: id("gross_mass_kg"),
        fact_type: FactType::Number,
        question: "What may it weigh?".to_owned(),
        from_record: Some(RecordFigure::GrossMassKg),
    }];
    asking.topics = vec![RuleTopic {
        id: id("licence"),
        display_name: "Licence".to_owned(),
        gate: RuleGate::Rules,
        categories: vec![
            category("light", "gross_mass_kg <= 3500", Vec::new()),
            category("heavy", "gross_mass_kg > 3500", Vec::new()),
        ],
    }];
    departure.rule_packs.push(asking.name.clone());
    record.rule_packs.insert(asking.name.clone(), asking);
    let mut licence = item("licence", "licence", Some("v1"), []);
    if let Some(stated_kg) = stated_kg {
        licence.facts.insert(id("gross_mass_kg"), Fact::Number(stated_kg));
    }
    record.regulated_items.insert(licence.name.clone(), licence);
    (record, departure)
}

fn assessed(record: &Record, departure: &Departure, assumed: &[&str]) -> ItemAssessment {
    let item = &record.regulated_items[&name("regulatedItems/licence")];
    let loads = ConvoyLoads::of(record, departure);
    let figures = RecordFigures::of(&loads, Some(v1(record)));
    let assumed = assumed.iter().map(|fact| id(fact)).collect();
    let packs = Packs::of(record, departure);
    packs
        .assess_assuming(record, departure, item, &figures, &assumed)
        .unwrap()
}

#[test]
fn what_the_record_knows_need_not_be_stated() {
    let (record, departure) = asked(None);
    let light = assessed(&record, &departure, &[]);
    assert_eq!(light.category, Some(id("light")));
    assert_eq!(light.facts_used[0].origin, FactOrigin::Record);
    assert_eq!(gate(&of(&record, &departure), "rules").answer, Answer::Met);
}

#[test]
fn what_neither_knows_is_undetermined() {
    let (mut record, departure) = asked(None);
    v1_mut(&mut record).specification.gross_mass_kg = None;
    let unknown = assessed(&record, &departure, &[]);
    assert_eq!(unknown.category, None);
    assert_eq!(unknown.missing_facts[0].fact, id("gross_mass_kg"));
    assert_eq!(gate(&of(&record, &departure), "rules").answer, Answer::NotKnown);
}

#[test]
fn the_record_counts_and_a_contradiction_is_said() {
    let (mut record, departure) = asked(Some(3_900.0));
    let light = assessed(&record, &departure, &[]);
    assert_eq!(light.category, Some(id("light")));
    assert_eq!(light.facts_used[0].stated, Some(Fact::Number(3_900.0)));
    let rules = gate(&of(&record, &departure), "rules");
    assert_eq!(rules.answer, Answer::MetWithConditions);
    assert!(rules.summary.contains("stated as 3900"), "{}", rules.summary);
    // What is stated counts where the record does not know, and where the caller assumes it.
    assert_eq!(
        assessed(&record, &departure, &["gross_mass_kg"]).category,
        Some(id("heavy"))
    );
    v1_mut(&mut record).specification.gross_mass_kg = None;
    let heavy = assessed(&record, &departure, &[]);
    assert_eq!(
        (heavy.category, heavy.facts_used[0].origin),
        (Some(id("heavy")), FactOrigin::Stated)
    );
}

#[test]
fn a_figure_of_another_type_is_a_fault_of_the_pack() {
    let mut wrong = pack("wrong", "2027-01-01");
    wrong.facts[0].from_record = Some(RecordFigure::RoofTotalKg);
    let refused = ostler_core::rules::check_pack(wrong).unwrap_err();
    assert_eq!(refused.faults[0].field, "facts[0].from_record");
}
