//! A call: who makes it, and how it may be carried out.

use std::sync::Arc;

use ostler_proto::v1;
use prost::Message;
use sha2::{Digest, Sha256};

use super::scope::Scope;

/// Who calls.
#[derive(Debug, Clone, Default)]
pub struct Actor {
    /// Name of the token.
    pub id: String,
    /// Its role.
    pub role: v1::Role,
    /// What it is limited to.
    pub scope: Arc<Scope>,
}

/// One call that may write.
#[derive(Debug, Clone)]
pub struct Call {
    /// Who calls.
    pub actor: Actor,
    /// The method, for the idempotency record.
    pub method: &'static str,
    /// The caller's id of the request; empty: none.
    pub request_id: String,
    /// Digest of the request.
    pub digest: [u8; 32],
    /// Check and answer, but write nothing.
    pub validate_only: bool,
}

impl Call {
    /// A call of `method` with `request`.
    pub fn new(
        actor: &Actor,
        method: &'static str,
        request: &impl Message,
        request_id: &str,
        validate_only: bool,
    ) -> Self {
        let digest = Sha256::digest(request.encode_to_vec()).into();
        let request_id = request_id.to_ascii_lowercase();
        Self {
            actor: actor.clone(),
            method,
            request_id,
            digest,
            validate_only,
        }
    }
}
