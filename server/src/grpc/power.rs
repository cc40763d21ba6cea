//! Electrical power.

use ostler_proto::v1;
use ostler_proto::v1::power_service_server::PowerService;
use tonic::Request;

use super::standard::reply;
use super::{Reply, Service};
use crate::contract::Presence;

#[tonic::async_trait]
impl PowerService for Service {
    async fn compute_power(&self, request: Request<v1::ComputePowerRequest>) -> Reply<v1::PowerResult> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.compute_power(request).await)
    }
}
