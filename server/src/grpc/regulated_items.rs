//! Regulated items.

use ostler_proto::v1;
use ostler_proto::v1::regulated_item_service_server::RegulatedItemService;
use tonic::Request;

use super::standard::reply;
use super::{Reply, Service};
use crate::app::kinds::RegulatedItems;
use crate::contract::Presence;

#[tonic::async_trait]
impl RegulatedItemService for Service {
    async fn get_regulated_item(
        &self,
        request: Request<v1::GetRegulatedItemRequest>,
    ) -> Reply<v1::RegulatedItem> {
        self.get::<RegulatedItems>(request).await
    }

    async fn list_regulated_items(
        &self,
        request: Request<v1::ListRegulatedItemsRequest>,
    ) -> Reply<v1::ListRegulatedItemsResponse> {
        self.list::<RegulatedItems, _>(request).await
    }

    async fn create_regulated_item(
        &self,
        request: Request<v1::CreateRegulatedItemRequest>,
    ) -> Reply<v1::RegulatedItem> {
        self.create::<RegulatedItems, _>(request).await
    }

    async fn update_regulated_item(
        &self,
        request: Request<v1::UpdateRegulatedItemRequest>,
    ) -> Reply<v1::RegulatedItem> {
        self.update::<RegulatedItems, _>(request).await
    }

    async fn delete_regulated_item(&self, request: Request<v1::DeleteRegulatedItemRequest>) -> Reply<()> {
        self.delete::<RegulatedItems, _>(request).await
    }

    async fn assess_regulated_item(
        &self,
        request: Request<v1::AssessRegulatedItemRequest>,
    ) -> Reply<v1::RegulatedItemAssessment> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.assess_regulated_item(request).await)
    }
}
