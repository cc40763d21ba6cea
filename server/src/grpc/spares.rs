//! Spares by demand.

use ostler_proto::v1;
use ostler_proto::v1::spares_service_server::SparesService;
use tonic::Request;

use super::standard::reply;
use super::{Reply, Service};
use crate::contract::Presence;

#[tonic::async_trait]
impl SparesService for Service {
    async fn compute_spares(&self, request: Request<v1::ComputeSparesRequest>) -> Reply<v1::SparesResult> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.compute_spares(request).await)
    }
}
