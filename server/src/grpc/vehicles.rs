//! Vehicles and fitments.

use ostler_proto::v1;
use ostler_proto::v1::vehicle_service_server::VehicleService;
use tonic::Request;

use super::{Reply, Service};
use crate::app::kinds::{Fitments, Vehicles};

#[tonic::async_trait]
impl VehicleService for Service {
    async fn get_vehicle(&self, request: Request<v1::GetVehicleRequest>) -> Reply<v1::Vehicle> {
        self.get::<Vehicles>(request).await
    }

    async fn list_vehicles(
        &self,
        request: Request<v1::ListVehiclesRequest>,
    ) -> Reply<v1::ListVehiclesResponse> {
        self.list::<Vehicles, _>(request).await
    }

    async fn create_vehicle(&self, request: Request<v1::CreateVehicleRequest>) -> Reply<v1::Vehicle> {
        self.create::<Vehicles, _>(request).await
    }

    async fn update_vehicle(&self, request: Request<v1::UpdateVehicleRequest>) -> Reply<v1::Vehicle> {
        self.update::<Vehicles, _>(request).await
    }

    async fn delete_vehicle(&self, request: Request<v1::DeleteVehicleRequest>) -> Reply<()> {
        self.delete::<Vehicles, _>(request).await
    }

    async fn get_fitment(&self, request: Request<v1::GetFitmentRequest>) -> Reply<v1::Fitment> {
        self.get::<Fitments>(request).await
    }

    async fn list_fitments(
        &self,
        request: Request<v1::ListFitmentsRequest>,
    ) -> Reply<v1::ListFitmentsResponse> {
        self.list::<Fitments, _>(request).await
    }

    async fn create_fitment(&self, request: Request<v1::CreateFitmentRequest>) -> Reply<v1::Fitment> {
        self.create::<Fitments, _>(request).await
    }

    async fn update_fitment(&self, request: Request<v1::UpdateFitmentRequest>) -> Reply<v1::Fitment> {
        self.update::<Fitments, _>(request).await
    }

    async fn delete_fitment(&self, request: Request<v1::DeleteFitmentRequest>) -> Reply<()> {
        self.delete::<Fitments, _>(request).await
    }
}
