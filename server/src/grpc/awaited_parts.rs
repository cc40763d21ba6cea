//! Awaited parts.

use ostler_proto::v1;
use ostler_proto::v1::awaited_part_service_server::AwaitedPartService;
use tonic::Request;

use super::{Reply, Service};
use crate::app::kinds::AwaitedParts;

#[tonic::async_trait]
impl AwaitedPartService for Service {
    async fn get_awaited_part(&self, request: Request<v1::GetAwaitedPartRequest>) -> Reply<v1::AwaitedPart> {
        self.get::<AwaitedParts>(request).await
    }

    async fn list_awaited_parts(
        &self,
        request: Request<v1::ListAwaitedPartsRequest>,
    ) -> Reply<v1::ListAwaitedPartsResponse> {
        self.list::<AwaitedParts, _>(request).await
    }

    async fn create_awaited_part(
        &self,
        request: Request<v1::CreateAwaitedPartRequest>,
    ) -> Reply<v1::AwaitedPart> {
        self.create::<AwaitedParts, _>(request).await
    }

    async fn update_awaited_part(
        &self,
        request: Request<v1::UpdateAwaitedPartRequest>,
    ) -> Reply<v1::AwaitedPart> {
        self.update::<AwaitedParts, _>(request).await
    }

    async fn delete_awaited_part(&self, request: Request<v1::DeleteAwaitedPartRequest>) -> Reply<()> {
        self.delete::<AwaitedParts, _>(request).await
    }
}
