//! Evidence.

use ostler_proto::v1;
use ostler_proto::v1::evidence_service_server::EvidenceService;
use tonic::Request;

use super::{Reply, Service};
use crate::app::kinds::EvidenceRecords;

#[tonic::async_trait]
impl EvidenceService for Service {
    async fn get_evidence(&self, request: Request<v1::GetEvidenceRequest>) -> Reply<v1::Evidence> {
        self.get::<EvidenceRecords>(request).await
    }

    async fn list_evidence(
        &self,
        request: Request<v1::ListEvidenceRequest>,
    ) -> Reply<v1::ListEvidenceResponse> {
        self.list::<EvidenceRecords, _>(request).await
    }

    async fn create_evidence(&self, request: Request<v1::CreateEvidenceRequest>) -> Reply<v1::Evidence> {
        self.create::<EvidenceRecords, _>(request).await
    }

    async fn update_evidence(&self, request: Request<v1::UpdateEvidenceRequest>) -> Reply<v1::Evidence> {
        self.update::<EvidenceRecords, _>(request).await
    }

    async fn delete_evidence(&self, request: Request<v1::DeleteEvidenceRequest>) -> Reply<()> {
        self.delete::<EvidenceRecords, _>(request).await
    }
}
