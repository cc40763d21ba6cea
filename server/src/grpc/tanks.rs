//! Tanks.

use ostler_proto::v1;
use ostler_proto::v1::tank_service_server::TankService;
use tonic::Request;

use super::standard::reply;
use super::{Reply, Service};
use crate::contract::Presence;

#[tonic::async_trait]
impl TankService for Service {
    async fn compute_tank(&self, request: Request<v1::ComputeTankRequest>) -> Reply<v1::TankFigures> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.compute_tank(request).await)
    }
}
