//! Access tokens, of which only the hash is kept.

use ostler_store::{StoreError, Token};
use ostler_tests::on_both_databases;

use crate::rows::TIME;

fn token(id: &str, hash: u8) -> Token {
    Token {
        id: id.to_owned(),
        hash: vec![hash; 32],
        display_name: "Anna, workshop".to_owned(),
        role: "admin".to_owned(),
        create_time: TIME,
        expire_time: Some(TIME + 1),
        revoke_time: None,
        fleets: Vec::new(),
        vehicles: Vec::new(),
        last_use_time: None,
    }
}

on_both_databases! {
    async fn a_token_is_found_by_its_hash(database: &Database) {
        let store = database.open().await;
        let anna = token("anna", 1);
        let berta = Token { expire_time: None, create_time: TIME - 1, ..token("berta", 2) };
        store.add_token(&anna).await.unwrap();
        store.add_token(&berta).await.unwrap();
        assert_eq!(store.token_by_hash(&[1; 32]).await.unwrap(), Some(anna.clone()));
        assert_eq!(store.token_by_hash(&[3; 32]).await.unwrap(), None);
        assert_eq!(store.token_by_hash(&[]).await.unwrap(), None);
        assert_eq!(store.tokens().await.unwrap(), [berta, anna]);
    }

    async fn a_taken_id_or_hash_is_refused(database: &Database) {
        let store = database.open().await;
        store.add_token(&token("anna", 1)).await.unwrap();
        for taken in [token("anna", 2), token("berta", 1)] {
            assert!(matches!(store.add_token(&taken).await, Err(StoreError::AlreadyExists { .. })));
        }
        let short = Token { hash: vec![1; 31], ..token("cora", 3) };
        assert!(matches!(store.add_token(&short).await, Err(StoreError::Invalid { .. })));
        assert_eq!(store.tokens().await.unwrap().len(), 1);
    }

    async fn the_first_withdrawal_counts(database: &Database) {
        let store = database.open().await;
        store.add_token(&token("anna", 1)).await.unwrap();
        assert!(!store.revoke_token("berta", TIME).await.unwrap());
        assert!(store.revoke_token("anna", TIME + 5).await.unwrap());
        assert!(store.revoke_token("anna", TIME + 9).await.unwrap());
        assert_eq!(store.token_by_hash(&[1; 32]).await.unwrap().unwrap().revoke_time, Some(TIME + 5));
    }
}

#[test]
fn a_token_is_printed_without_its_hash() {
    let printed = format!(
        "{:?}",
        Token {
            hash: vec![213; 32],
            ..token("anna", 0)
        }
    );
    assert!(printed.contains("anna") && !printed.contains("213"), "{printed}");
}
