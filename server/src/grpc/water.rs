//! Water and food.

use ostler_proto::v1;
use ostler_proto::v1::water_service_server::WaterService;
use tonic::Request;

use super::standard::reply;
use super::{Reply, Service};
use crate::contract::Presence;

#[tonic::async_trait]
impl WaterService for Service {
    async fn compute_water(&self, request: Request<v1::ComputeWaterRequest>) -> Reply<v1::WaterResult> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.compute_water(request).await)
    }
}
