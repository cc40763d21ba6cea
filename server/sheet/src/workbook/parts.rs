//! The parts of a load sheet as tables.

use ostler_proto::v1::{Answer, Gate, LoadAgainstLimit, LoadSheet};

use super::{Part, Value};
use crate::words;

macro_rules! row {
    ($($value:expr),* $(,)?) => { vec![$(Value::from($value)),*] };
}

/// Every part, in order.
pub(super) fn all(sheet: &LoadSheet, content_hash: &str) -> [Part; 11] {
    [
        about(sheet, content_hash),
        loads(sheet),
        wheels(sheet),
        pressures(sheet),
        cargo(sheet),
        fluids(sheet),
        crew(sheet),
        conditions(sheet),
        open(sheet),
        papers(sheet),
        cautions(sheet),
    ]
}

fn about(sheet: &LoadSheet, content_hash: &str) -> Part {
    let state = if sheet.draft {
        "draft, not issued"
    } else {
        "issued"
    };
    let mut rows = vec![
        row!["state", state],
        row!["departure", &sheet.departure_display_name],
        row!["departure date", &sheet.departure_date],
        row!["return date", &sheet.return_date],
        row!["vehicle", &sheet.vehicle_display_name],
        row!["role", &sheet.role],
        row!["verdict", words::verdict(sheet.verdict())],
        row![
            "verdict of the departure",
            words::verdict(sheet.departure_verdict())
        ],
        row!["record version", &sheet.record_version],
        row!["content SHA-256", content_hash],
    ];
    if !sheet.draft {
        rows.push(row!["sheet", &sheet.name]);
        rows.push(row!["number", sheet.number]);
        rows.push(row!["supersedes", &sheet.supersedes]);
        rows.push(row!["reason", &sheet.reason]);
        if let Some(time) = &sheet.issue_time {
            rows.push(row!["issued", time.to_string()]);
        }
    }
    for signature in &sheet.signatures {
        let who = format!("{}, token {}", signature.display_name, signature.token);
        rows.push(row![format!("signed as {}", signature.role), who]);
    }
    for pack in &sheet.rule_packs {
        rows.push(row![
            "rule pack",
            format!("{} version {}", pack.display_name, pack.version)
        ]);
    }
    for leg in &sheet.legs {
        let way = format!(
            "{} – {}, {} km, {} days",
            leg.start_place,
            leg.end_place,
            words::decimal(leg.map_distance_km),
            words::decimal(leg.planned_days)
        );
        rows.push(row![format!("leg {}", leg.leg), way]);
    }
    Part {
        title: "Sheet",
        head: &["what", "value"],
        rows,
    }
}

fn loads(sheet: &LoadSheet) -> Part {
    let mut rows = Vec::new();
    for load in &sheet.loads {
        let moment = words::moment(sheet, &load.load_state);
        let mut take = |what: &str, held: Option<&LoadAgainstLimit>| {
            let answer = held.map_or(words::NOT_KNOWN, |held| words::answer(held.answer()));
            rows.push(row![
                &moment,
                what,
                held.map(|held| held.load_kg),
                held.and_then(|held| held.limit_kg),
                held.and_then(|held| held.margin_kg),
                held.map(|held| held.uncertainty_kg),
                answer,
            ]);
        };
        take("whole", load.total.as_ref());
        take("front axle", load.front_axle.as_ref());
        take("rear axle", load.rear_axle.as_ref());
        take("roof", load.roof.as_ref());
        for zone in &load.zones {
            take(&format!("zone {}", zone.zone), zone.load.as_ref());
        }
        for missing in &load.missing {
            rows.push(row![&moment, "missing", missing]);
        }
    }
    Part {
        title: "Loads",
        head: &[
            "moment",
            "what",
            "load kg",
            "limit kg",
            "left kg",
            "uncertainty kg",
            "answer",
        ],
        rows,
    }
}

fn wheels(sheet: &LoadSheet) -> Part {
    let rows = sheet.wheels.iter().map(|wheels| {
        let basis = if wheels.from_stance {
            "on its springs"
        } else {
            "half of the axle"
        };
        row![
            words::moment(sheet, &wheels.load_state),
            wheels.front_left_kg,
            wheels.front_right_kg,
            wheels.rear_left_kg,
            wheels.rear_right_kg,
            basis,
        ]
    });
    Part {
        title: "Wheels",
        head: &[
            "moment",
            "front left kg",
            "front right kg",
            "rear left kg",
            "rear right kg",
            "basis",
        ],
        rows: rows.collect(),
    }
}

fn pressures(sheet: &LoadSheet) -> Part {
    let mut rows = Vec::new();
    for axle in &sheet.tyres {
        let known = |surfaces: String, pressure: Value, speed: Value| {
            row![
                &axle.axle,
                surfaces,
                axle.wheel_load_kg,
                axle.capacity_kg,
                axle.needed_kpa
            ]
            .into_iter()
            .chain([pressure, speed])
            .collect::<Vec<_>>()
        };
        if axle.planned.is_empty() {
            rows.push(known(
                String::new(),
                words::NOT_KNOWN.into(),
                words::NOT_KNOWN.into(),
            ));
        }
        for planned in &axle.planned {
            let speed = planned.speed_max_km_per_h.into();
            rows.push(known(
                planned.surfaces.join(", "),
                planned.pressure_kpa.into(),
                speed,
            ));
        }
    }
    Part {
        title: "Tyres",
        head: &[
            "axle",
            "surfaces",
            "heaviest wheel kg",
            "tyre carries kg",
            "needs kPa",
            "planned kPa cold",
            "fastest km/h",
        ],
        rows,
    }
}

fn cargo(sheet: &LoadSheet) -> Part {
    let mut rows = Vec::new();
    for zone in &sheet.zones {
        for item in &zone.items {
            rows.push(row![
                &zone.display_name,
                words::id(&item.cargo_item),
                &item.display_name,
                item.quantity,
                item.mass_kg,
                &item.restraint,
                words::answer(item.held()),
                &item.hazard,
                item.critical,
                item.consumed,
            ]);
        }
    }
    Part {
        title: "Cargo",
        head: &[
            "zone", "id", "thing", "quantity", "mass kg", "held by", "holds", "hazard", "critical", "used up",
        ],
        rows,
    }
}

fn fluids(sheet: &LoadSheet) -> Part {
    let rows = sheet.fills.iter().map(|fill| {
        row![
            words::fluid(fill.fluid()),
            fill.drawdown,
            words::named(&fill.display_name, &fill.tank),
            fill.volume_l,
            fill.usable_l,
            fill.capacity_l,
            fill.mass_kg,
        ]
    });
    Part {
        title: "Fluids",
        head: &[
            "fluid",
            "emptied as",
            "tank",
            "aboard l",
            "can be drawn l",
            "takes l",
            "mass kg",
        ],
        rows: rows.collect(),
    }
}

fn crew(sheet: &LoadSheet) -> Part {
    let rows = sheet.crew.iter().map(|member| row![&member.role, member.driver]);
    Part {
        title: "Crew",
        head: &["role", "drives"],
        rows: rows.collect(),
    }
}

fn conditions(sheet: &LoadSheet) -> Part {
    let rows = sheet.conditions.iter().map(|condition| {
        let accepted = condition.condition.clone().unwrap_or_default();
        row![
            words::id(&condition.record),
            &condition.gate,
            &condition.subject,
            accepted.condition,
            accepted.owner,
            accepted.check_interval,
            accepted.accepted_by,
            accepted.accepted_date,
            &condition.signed_by,
        ]
    });
    Part {
        title: "Conditions",
        head: &[
            "record",
            "gate",
            "about",
            "condition",
            "kept by",
            "checked",
            "accepted by",
            "on",
            "token",
        ],
        rows: rows.collect(),
    }
}

fn open(sheet: &LoadSheet) -> Part {
    let mut rows = Vec::new();
    let mut take = |whose: &str, gates: &[Gate]| {
        for gate in gates {
            let open = gate
                .findings
                .iter()
                .filter(|finding| finding.acceptance.is_empty());
            for finding in open.filter(|finding| finding.answer() != Answer::Met) {
                rows.push(row![
                    whose,
                    &gate.id,
                    words::answer(finding.answer()),
                    &finding.text,
                    &finding.remedy,
                    &finding.basis,
                ]);
            }
        }
    };
    take("vehicle", &sheet.open_gates);
    take("convoy", &sheet.convoy_gates);
    Part {
        title: "Open",
        head: &["whose", "gate", "answer", "finding", "remedy", "basis"],
        rows,
    }
}

fn papers(sheet: &LoadSheet) -> Part {
    let rows = sheet.papers.iter().map(|paper| {
        let until = if paper.valid_until_date.is_empty() {
            "does not expire"
        } else {
            &paper.valid_until_date
        };
        row![
            words::id(&paper.evidence),
            &paper.display_name,
            &paper.reference,
            until,
            words::answer(paper.valid())
        ]
    });
    Part {
        title: "Papers",
        head: &[
            "record",
            "paper",
            "reference",
            "valid until",
            "valid for the trip",
        ],
        rows: rows.collect(),
    }
}

fn cautions(sheet: &LoadSheet) -> Part {
    Part {
        title: "Cautions",
        head: &["to mind"],
        rows: sheet.cautions.iter().map(|caution| row![caution]).collect(),
    }
}
