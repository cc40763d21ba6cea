//! Parts.

use ostler_proto::v1;
use ostler_proto::v1::part_service_server::PartService;
use tonic::Request;

use super::standard::reply;
use super::{Reply, Service};
use crate::app::kinds::Parts;
use crate::contract::Presence;

#[tonic::async_trait]
impl PartService for Service {
    async fn get_part(&self, request: Request<v1::GetPartRequest>) -> Reply<v1::Part> {
        self.get::<Parts>(request).await
    }

    async fn list_parts(&self, request: Request<v1::ListPartsRequest>) -> Reply<v1::ListPartsResponse> {
        self.list::<Parts, _>(request).await
    }

    async fn create_part(&self, request: Request<v1::CreatePartRequest>) -> Reply<v1::Part> {
        self.create::<Parts, _>(request).await
    }

    async fn update_part(&self, request: Request<v1::UpdatePartRequest>) -> Reply<v1::Part> {
        self.update::<Parts, _>(request).await
    }

    async fn delete_part(&self, request: Request<v1::DeletePartRequest>) -> Reply<()> {
        self.delete::<Parts, _>(request).await
    }

    async fn search_parts(&self, request: Request<v1::SearchPartsRequest>) -> Reply<v1::SearchPartsResponse> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.search_parts(request).await)
    }

    async fn search_slots(&self, request: Request<v1::SearchSlotsRequest>) -> Reply<v1::SearchSlotsResponse> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.search_slots(request).await)
    }
}
