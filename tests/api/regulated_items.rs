//! What the rules make of the bolted tank of the demo fleet.

use std::collections::BTreeMap;

use ostler_proto::v1::{self, Answer, fact::Value};
use ostler_tests::client::Client;
use ostler_tests::on_both_databases;

use crate::demo;

const TANK: &str = "fleets/orrin/regulatedItems/k07";

type Facts = BTreeMap<String, v1::Fact>;

fn facts(of: &[(&str, Option<bool>)]) -> Facts {
    of.iter()
        .map(|(id, yes)| {
            (
                (*id).to_owned(),
                v1::Fact {
                    value: yes.map(Value::Yes),
                },
            )
        })
        .collect()
}

async fn assess(client: &Client, assumed_facts: Facts) -> v1::RegulatedItemAssessment {
    let request = v1::AssessRegulatedItemRequest {
        name: TANK.into(),
        departure: demo::DEPARTURE.into(),
        assumed_facts,
    };
    client.ask(request).await.unwrap()
}

fn demanded(assessment: &v1::RegulatedItemAssessment) -> Vec<&str> {
    assessment
        .demands
        .iter()
        .map(|demand| demand.demand.as_str())
        .collect()
}

fn missing(assessment: &v1::RegulatedItemAssessment) -> Vec<&str> {
    assessment
        .missing_facts
        .iter()
        .map(|fact| fact.fact.as_str())
        .collect()
}

/// What stands in the way of `v3` by the tank, with what it lacks.
fn findings(readiness: &v1::Readiness) -> Vec<(Answer, String)> {
    demo::findings(readiness, "v3")
        .into_iter()
        .filter(|(gate, finding)| gate.id == "rules" && finding.records.iter().any(|record| record == TANK))
        .map(|(_, finding)| {
            (
                finding.answer(),
                format!("{} {:?}", finding.text, finding.missing),
            )
        })
        .collect()
}

on_both_databases! {
    async fn assumed_facts_move_the_tank(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let before = demo::latest_change(&admin, demo::FLEET).await;
        let recorded = assess(&admin, Facts::new()).await;
        assert_eq!(recorded.category, "fixed_additional");
        assert_eq!(demanded(&recorded), ["engineer_certificate"]);
        assert_eq!(recorded.answer(), Answer::NotMet);

        let container = recorded.category_changes.iter().find(|change| change.category == "container").unwrap();
        let changed: Vec<&str> = container.changes.iter().map(|change| change.fact.as_str()).collect();
        assert_eq!(changed, ["removable_without_tools", "plumbed"], "loosened and taken off the fuel system");
        assert!(!container.cut_off);

        let loose = assess(&admin, facts(&[("removable_without_tools", Some(true)), ("plumbed", Some(false))])).await;
        assert_eq!(loose.category, "container");
        assert_eq!(demanded(&loose), ["container_record"]);

        let open = assess(&admin, facts(&[("removable_without_tools", None), ("plumbed", Some(false))])).await;
        assert_eq!(open.category, "");
        assert_eq!(missing(&open), ["removable_without_tools"]);
        assert!(open.possible_categories.contains(&"container".to_owned()), "{:?}", open.possible_categories);
        assert!(open.possible_categories.contains(&"fixed_additional".to_owned()), "{:?}", open.possible_categories);
        assert_eq!(open.answer(), Answer::NotKnown);
        assert!(!open.missing_facts[0].question.is_empty());

        // A fact that decides nothing may be missing: plumbed is fixed, removable or not.
        let decided = assess(&admin, facts(&[("removable_without_tools", None)])).await;
        assert_eq!(decided.category, "fixed_additional");
        assert_eq!(demo::latest_change(&admin, demo::FLEET).await, before, "an assumption writes nothing");
        server.stop().await;
    }

    async fn recorded_facts_move_the_tank(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let item: v1::RegulatedItem = admin.ask(v1::GetRegulatedItemRequest { name: TANK.into() }).await.unwrap();
        let change = async |facts: Facts| {
            let request = v1::UpdateRegulatedItemRequest {
                regulated_item: Some(v1::RegulatedItem { name: TANK.into(), facts, ..Default::default() }),
                update_mask: Some(prost_types::FieldMask { paths: vec!["facts".into()] }),
                ..Default::default()
            };
            admin.ask::<v1::RegulatedItem>(request).await.unwrap();
        };
        let certificate = |readiness: &v1::Readiness| {
            findings(readiness).iter().any(|(_, text)| text.to_lowercase().contains("certificate"))
        };
        assert!(certificate(&demo::readiness(&admin).await));

        let mut loose = item.facts.clone();
        loose.extend(facts(&[("removable_without_tools", Some(true)), ("plumbed", Some(false))]));
        change(loose.clone()).await;
        let assessment = assess(&admin, Facts::new()).await;
        assert_eq!(assessment.category, "container");
        assert_eq!(demanded(&assessment), ["container_record"]);
        assert!(!certificate(&demo::readiness(&admin).await));

        loose.remove("removable_without_tools");
        change(loose).await;
        let assessment = assess(&admin, Facts::new()).await;
        assert_eq!(assessment.category, "");
        assert_eq!(missing(&assessment), ["removable_without_tools"]);
        let findings = findings(&demo::readiness(&admin).await);
        assert!(
            findings.iter().any(|(answer, text)| *answer == Answer::NotKnown && text.contains("removable_without_tools")),
            "{findings:?}"
        );
        server.stop().await;
    }
}

// The figures of the demo's specifications answer what its items need not state, and contradict nothing that they do.
on_both_databases! {
    async fn the_record_answers_what_it_knows(database: &Database) {
        let (server, client) = demo::start(database).await;
        let list = v1::ListRegulatedItemsRequest { parent: demo::FLEET.into(), page_size: 1000, ..Default::default() };
        let items: v1::ListRegulatedItemsResponse = client.ask(list).await.unwrap();
        assert!(!items.regulated_items.is_empty());
        let mut recorded = BTreeMap::new();
        for item in items.regulated_items {
            let request = v1::AssessRegulatedItemRequest {
                name: item.name.clone(),
                departure: demo::DEPARTURE.into(),
                assumed_facts: Facts::new(),
            };
            let assessment: v1::RegulatedItemAssessment = client.ask(request).await.unwrap();
            for used in assessment.facts_used {
                assert_eq!(used.stated, None, "{}: {}", item.name, used.fact);
                if used.origin() == v1::FactOrigin::Record {
                    recorded.insert((item.name.rsplit('/').next().unwrap().to_owned(), used.fact), used.value.and_then(|fact| fact.value));
                }
            }
        }
        let number = |item: &str, fact: &str| recorded.get(&(item.to_owned(), fact.to_owned())).cloned().flatten();
        // The gross masses of the fleet file.
        assert_eq!(number("k01", "gross_mass_kg"), Some(Value::Number(3_800.0)));
        assert_eq!(number("k01", "original_gross_mass_kg"), Some(Value::Number(3_350.0)));
        assert_eq!(number("k09-p8", "gross_mass_kg"), Some(Value::Number(6_500.0)));
        server.stop().await;
    }
}
