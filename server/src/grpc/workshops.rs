//! Workshops.

use ostler_proto::v1;
use ostler_proto::v1::workshop_service_server::WorkshopService;
use tonic::Request;

use super::{Reply, Service};
use crate::app::kinds::Workshops;

#[tonic::async_trait]
impl WorkshopService for Service {
    async fn get_workshop(&self, request: Request<v1::GetWorkshopRequest>) -> Reply<v1::Workshop> {
        self.get::<Workshops>(request).await
    }

    async fn list_workshops(
        &self,
        request: Request<v1::ListWorkshopsRequest>,
    ) -> Reply<v1::ListWorkshopsResponse> {
        self.list::<Workshops, _>(request).await
    }

    async fn create_workshop(&self, request: Request<v1::CreateWorkshopRequest>) -> Reply<v1::Workshop> {
        self.create::<Workshops, _>(request).await
    }

    async fn update_workshop(&self, request: Request<v1::UpdateWorkshopRequest>) -> Reply<v1::Workshop> {
        self.update::<Workshops, _>(request).await
    }

    async fn delete_workshop(&self, request: Request<v1::DeleteWorkshopRequest>) -> Reply<()> {
        self.delete::<Workshops, _>(request).await
    }
}
