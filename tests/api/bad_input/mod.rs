//! Bad input to every method: refused at its field, nothing written, the server well.
//!
//! [`bases`] has a good request for every method, [`variants`] spoils each of its fields in every way that the contract of the
//! field rules out.

pub(crate) mod bases;
mod calculations;
mod variants;

use std::collections::BTreeSet;

use ostler_tests::client::{Client, Refusal, methods};
use ostler_tests::databases::Database;
use ostler_tests::on_both_databases;
use prost_reflect::{DynamicMessage, Value};
use tonic::{Code, Status};

use crate::demo;
use variants::{Variant, variants};

/// Codes that say that the request itself was in order.
const IN_ORDER: [Code; 2] = [Code::AlreadyExists, Code::FailedPrecondition];

/// Callers at once.
const CALLERS: usize = 4;

/// The state of everything that a call could change.
async fn everything(database: &Database) -> Vec<String> {
    let counts = "SELECT CAST((SELECT count(*) FROM history) AS TEXT) || '/' || CAST((SELECT count(*) FROM request) AS TEXT) || '/' || CAST((SELECT count(*) FROM resource) AS TEXT)";
    let mut state = database.sql(counts).await.unwrap();
    let revisions = "SELECT scope || ' ' || CAST(value AS TEXT) FROM revision ORDER BY scope";
    state.extend(database.sql(revisions).await.unwrap());
    state
}

/// What was wrong with the answer to a spoiled request. `None`: nothing.
fn fault(variant: &Variant, outcome: Result<DynamicMessage, Status>) -> Option<String> {
    let Variant {
        path, what, unknown, ..
    } = variant;
    let status = match outcome {
        Ok(_) => return Some(format!("{path} {what}: accepted")),
        Err(status) => status,
    };
    let refusal = Refusal::of(&status);
    let at_field = refusal.code == Code::InvalidArgument && refusal.fields().contains(&path.as_str());
    let not_found = *unknown && refusal.code == Code::NotFound && refusal.reason == "RESOURCE_NOT_FOUND";
    (!at_field && !not_found).then(|| {
        format!(
            "{path} {what}: {:?} {} at {:?}",
            refusal.code,
            refusal.message,
            refusal.fields()
        )
    })
}

async fn faults(client: &Client, variants: Vec<Variant>) -> Vec<String> {
    let mut callers = Vec::new();
    let size = variants.len().div_ceil(CALLERS).max(1);
    let mut rest = variants.into_iter();
    loop {
        let some: Vec<Variant> = rest.by_ref().take(size).collect();
        if some.is_empty() {
            break;
        }
        let client = client.clone();
        callers.push(tokio::spawn(async move {
            let mut faults = Vec::new();
            for variant in some {
                let outcome = client.call(&variant.request).await;
                faults.extend(fault(&variant, outcome));
            }
            faults
        }));
    }
    let mut faults = Vec::new();
    for caller in callers {
        faults.extend(caller.await.unwrap());
    }
    faults
}

/// The request as a rehearsal, where the method has one.
pub(crate) fn rehearsal(request: &DynamicMessage) -> DynamicMessage {
    let mut rehearsal = request.clone();
    // Methods that only read have no such field, and need none.
    let _ = rehearsal.try_set_field_by_name("validate_only", Value::Bool(true));
    rehearsal
}

on_both_databases! {
    async fn every_field_of_every_request_is_guarded(database: &Database) {
        let (server, admin) = demo::start(database).await;
        let bases = bases::all(&admin).await;
        let known: BTreeSet<&str> = bases.keys().map(String::as_str).collect();
        let listed: Vec<String> = methods().map(|method| method.name().to_owned()).collect();
        assert_eq!(known, listed.iter().map(String::as_str).collect(), "every method has a good request here");

        let before = everything(database).await;
        let mut wrong = Vec::new();
        let mut count = 0;
        for (method, base) in &bases {
            if let Err(status) = admin.call(&rehearsal(base)).await
                && !IN_ORDER.contains(&status.code())
            {
                wrong.push(format!("{method}: the good request is refused: {:?}", Refusal::of(&status)));
            }
            let variants = variants(base);
            count += variants.len();
            wrong.extend(faults(&admin, variants).await.into_iter().map(|fault| format!("{method} {fault}")));
            if everything(database).await != before {
                panic!("{method} wrote something; until then: {wrong:#?}");
            }
            admin.health().await.unwrap();
        }
        assert!(wrong.is_empty(), "{} of {count}: {wrong:#?}", wrong.len());
        assert!(count > 3_000, "{count} spoiled requests");
        server.stop().await;
    }
}
