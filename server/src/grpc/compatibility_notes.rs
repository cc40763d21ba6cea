//! Compatibility notes.

use ostler_proto::v1;
use ostler_proto::v1::compatibility_note_service_server::CompatibilityNoteService;
use tonic::Request;

use super::{Reply, Service};
use crate::app::kinds::CompatibilityNotes;

#[tonic::async_trait]
impl CompatibilityNoteService for Service {
    async fn get_compatibility_note(
        &self,
        request: Request<v1::GetCompatibilityNoteRequest>,
    ) -> Reply<v1::CompatibilityNote> {
        self.get::<CompatibilityNotes>(request).await
    }

    async fn list_compatibility_notes(
        &self,
        request: Request<v1::ListCompatibilityNotesRequest>,
    ) -> Reply<v1::ListCompatibilityNotesResponse> {
        self.list::<CompatibilityNotes, _>(request).await
    }

    async fn create_compatibility_note(
        &self,
        request: Request<v1::CreateCompatibilityNoteRequest>,
    ) -> Reply<v1::CompatibilityNote> {
        self.create::<CompatibilityNotes, _>(request).await
    }

    async fn update_compatibility_note(
        &self,
        request: Request<v1::UpdateCompatibilityNoteRequest>,
    ) -> Reply<v1::CompatibilityNote> {
        self.update::<CompatibilityNotes, _>(request).await
    }

    async fn delete_compatibility_note(
        &self,
        request: Request<v1::DeleteCompatibilityNoteRequest>,
    ) -> Reply<()> {
        self.delete::<CompatibilityNotes, _>(request).await
    }
}
