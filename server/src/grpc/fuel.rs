//! Fuel.

use ostler_proto::v1;
use ostler_proto::v1::fuel_service_server::FuelService;
use tonic::Request;

use super::standard::reply;
use super::{Reply, Service};
use crate::contract::Presence;

#[tonic::async_trait]
impl FuelService for Service {
    async fn compute_fuel(&self, request: Request<v1::ComputeFuelRequest>) -> Reply<v1::FuelResult> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.compute_fuel(request).await)
    }
}
