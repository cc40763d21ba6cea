//! How records and lists of them read.

use super::*;
use crate::cli::Format;
use crate::output::Style;
use ostler_proto::v1;

fn defect() -> v1::Defect {
    v1::Defect {
        name: "fleets/orrin/defects/d1".to_owned(),
        etag: "e7".to_owned(),
        vehicle: "fleets/orrin/vehicles/v1".to_owned(),
        description: "+Rear brake drags; the drum is hot after a kilometre on the flat, cold elsewhere"
            .to_owned(),
        severity: v1::DefectSeverity::Restricting.into(),
        disposition: v1::DefectDisposition::Open.into(),
        measurements: [("drum_temperature_c".to_owned(), 143.25)].into_iter().collect(),
        ..Default::default()
    }
}

#[test]
fn lists_of_records() {
    let methods = methods(Kind::Defect).unwrap();
    let items = vec![Value::Message(defect().transcode_to_dynamic())];
    let document = list_document(Kind::Defect, &methods, items);
    let render = |format| document.render(format, Style::plain()).unwrap();
    insta::assert_snapshot!("list_table", render(Format::Table));
    insta::assert_snapshot!("list_csv", render(Format::Csv));
    insta::assert_snapshot!("list_json", render(Format::Json));
    let empty = list_document(
        Kind::Evidence,
        &super::methods(Kind::Evidence).unwrap(),
        Vec::new(),
    );
    assert_eq!(
        empty.render(Format::Table, Style::plain()).unwrap(),
        "0 pieces of evidence\n"
    );
}

#[test]
fn one_record() {
    let document = record_document(Some("defect d1 changed"), &defect().transcode_to_dynamic());
    insta::assert_snapshot!(document.render(Format::Table, Style::plain()).unwrap());
}

#[test]
fn parents_of_names() {
    assert_eq!(
        parent_of("fleets/orrin/vehicles/v1/fitments/gearbox"),
        "fleets/orrin/vehicles/v1"
    );
    assert_eq!(parent_of("fleets/orrin/vehicles/v1"), "fleets/orrin");
    assert_eq!(parent_of("fleets/orrin"), "");
}

#[test]
fn conditions_are_joined() {
    let some = |text: &str| Some(text.to_owned());
    assert_eq!(
        joined(some("a = \"1\""), some("b = \"2\"")),
        some("a = \"1\" AND b = \"2\"")
    );
    assert_eq!(joined(None, some("b = \"2\"")), some("b = \"2\""));
}
