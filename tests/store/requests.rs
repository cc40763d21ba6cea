//! Request ids: the first answer is kept, a repeat is told.

use ostler_store::{NewRequest, Store, StoreError, StoredRequest};
use ostler_tests::on_both_databases;

use crate::rows::{TIME, fleet};

const REQUEST: NewRequest<'static> = NewRequest {
    actor: "tokens/anna",
    request_id: "r1",
    method: "CreateFleet",
    digest: &[7; 32],
    response: b"first answer",
    time: TIME,
};

/// Carries a request out as a server does: look, write, keep the answer, commit.
async fn carry_out(store: &Store, request: &NewRequest<'_>) -> Result<(), StoreError> {
    let mut transaction = store.begin().await?;
    transaction
        .insert(&fleet(&format!("fleets/{}", request.response.len())))
        .await?;
    transaction.record_request(request).await?;
    transaction.commit().await
}

on_both_databases! {
    async fn the_first_answer_is_kept(database: &Database) {
        let store = database.open().await;
        assert_eq!(store.request("tokens/anna", "r1").await.unwrap(), None);
        carry_out(&store, &REQUEST).await.unwrap();
        let kept = StoredRequest {
            method: "CreateFleet".to_owned(),
            digest: vec![7; 32],
            response: b"first answer".to_vec(),
            time: TIME,
        };
        assert_eq!(store.request("tokens/anna", "r1").await.unwrap(), Some(kept.clone()));
        let repeat = NewRequest { response: b"second", ..REQUEST };
        assert!(matches!(carry_out(&store, &repeat).await, Err(StoreError::RequestRepeated)));
        assert_eq!(store.get("fleets/6").await.unwrap(), None, "the repeat wrote nothing");
        let mut transaction = store.begin().await.unwrap();
        assert_eq!(transaction.request("tokens/anna", "r1").await.unwrap(), Some(kept));
    }

    async fn ids_of_different_actors_do_not_meet(database: &Database) {
        let store = database.open().await;
        carry_out(&store, &REQUEST).await.unwrap();
        let other = NewRequest { actor: "tokens/berta", response: b"other", ..REQUEST };
        carry_out(&store, &other).await.unwrap();
        assert_eq!(store.request("tokens/berta", "r1").await.unwrap().unwrap().response, b"other");
        assert_eq!(store.request("tokens/anna", "r1").await.unwrap().unwrap().response, b"first answer");
    }

    async fn of_many_at_once_exactly_one_is_carried_out(database: &Database) {
        let store = database.open().await;
        let responses: Vec<Vec<u8>> = (1..=8).map(|length| vec![b'x'; length]).collect();
        let tasks: Vec<_> = responses
            .into_iter()
            .map(|response| {
                let store = store.clone();
                tokio::spawn(async move {
                    carry_out(&store, &NewRequest { response: &response, ..REQUEST }).await
                })
            })
            .collect();
        let mut done = 0;
        for task in tasks {
            match task.await.unwrap() {
                Ok(()) => done += 1,
                Err(error) => assert!(matches!(error, StoreError::RequestRepeated), "{error:?}"),
            }
        }
        assert_eq!(done, 1);
        let answer = store.request("tokens/anna", "r1").await.unwrap().unwrap();
        for length in 1..=8 {
            let written = store.get(&format!("fleets/{length}")).await.unwrap().is_some();
            assert_eq!(written, length == answer.response.len());
        }
    }

    async fn old_answers_can_be_forgotten(database: &Database) {
        let store = database.open().await;
        carry_out(&store, &REQUEST).await.unwrap();
        let later = NewRequest { request_id: "r2", response: b"later", time: TIME + 1, ..REQUEST };
        carry_out(&store, &later).await.unwrap();
        let latest = NewRequest { request_id: "r3", response: b"latest", time: TIME + 2, ..REQUEST };
        carry_out(&store, &latest).await.unwrap();
        assert_eq!(store.forget_requests(TIME + 2, 0).await.unwrap(), 0);
        assert_eq!(store.forget_requests(TIME + 2, 1).await.unwrap(), 1, "the oldest first");
        assert_eq!(store.request("tokens/anna", "r1").await.unwrap(), None);
        assert!(store.request("tokens/anna", "r2").await.unwrap().is_some());
        assert_eq!(store.forget_requests(TIME + 2, 9).await.unwrap(), 1);
        assert_eq!(store.forget_requests(TIME + 2, 9).await.unwrap(), 0);
        assert!(store.request("tokens/anna", "r3").await.unwrap().is_some());
    }
}
