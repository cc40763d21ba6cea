//! Cargo.

use ostler_proto::v1;
use ostler_proto::v1::cargo_service_server::CargoService;
use tonic::Request;

use super::standard::reply;
use super::{Reply, Service};
use crate::app::Call;
use crate::app::kinds::CargoItems;
use crate::contract::Presence;

#[tonic::async_trait]
impl CargoService for Service {
    async fn get_cargo_item(&self, request: Request<v1::GetCargoItemRequest>) -> Reply<v1::CargoItem> {
        self.get::<CargoItems>(request).await
    }

    async fn list_cargo_items(
        &self,
        request: Request<v1::ListCargoItemsRequest>,
    ) -> Reply<v1::ListCargoItemsResponse> {
        self.list::<CargoItems, _>(request).await
    }

    async fn create_cargo_item(&self, request: Request<v1::CreateCargoItemRequest>) -> Reply<v1::CargoItem> {
        self.create::<CargoItems, _>(request).await
    }

    async fn update_cargo_item(&self, request: Request<v1::UpdateCargoItemRequest>) -> Reply<v1::CargoItem> {
        self.update::<CargoItems, _>(request).await
    }

    async fn delete_cargo_item(&self, request: Request<v1::DeleteCargoItemRequest>) -> Reply<()> {
        self.delete::<CargoItems, _>(request).await
    }

    async fn import_cargo_list(
        &self,
        request: Request<v1::ImportCargoListRequest>,
    ) -> Reply<v1::ImportCargoListResponse> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let call = Call::new(
            &caller.actor,
            "ImportCargoListRequest",
            &request,
            &request.request_id,
            request.validate_only,
        );
        reply(self.app.import_cargo_list(&call, request).await)
    }

    async fn export_cargo_list(
        &self,
        request: Request<v1::ExportCargoListRequest>,
    ) -> Reply<v1::ExportCargoListResponse> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.export_cargo_list(request).await)
    }
}
