//! Departures.

use ostler_proto::v1;
use ostler_proto::v1::departure_service_server::DepartureService;
use tonic::Request;

use super::{Reply, Service};
use crate::app::kinds::Departures;

#[tonic::async_trait]
impl DepartureService for Service {
    async fn get_departure(&self, request: Request<v1::GetDepartureRequest>) -> Reply<v1::Departure> {
        self.get::<Departures>(request).await
    }

    async fn list_departures(
        &self,
        request: Request<v1::ListDeparturesRequest>,
    ) -> Reply<v1::ListDeparturesResponse> {
        self.list::<Departures, _>(request).await
    }

    async fn create_departure(&self, request: Request<v1::CreateDepartureRequest>) -> Reply<v1::Departure> {
        self.create::<Departures, _>(request).await
    }

    async fn update_departure(&self, request: Request<v1::UpdateDepartureRequest>) -> Reply<v1::Departure> {
        self.update::<Departures, _>(request).await
    }

    async fn delete_departure(&self, request: Request<v1::DeleteDepartureRequest>) -> Reply<()> {
        self.delete::<Departures, _>(request).await
    }
}
