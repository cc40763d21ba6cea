//! Loads.

use ostler_proto::v1;
use ostler_proto::v1::load_service_server::LoadService;
use tonic::Request;

use super::standard::reply;
use super::{Reply, Service};
use crate::contract::Presence;

#[tonic::async_trait]
impl LoadService for Service {
    async fn compute_loads(&self, request: Request<v1::ComputeLoadsRequest>) -> Reply<v1::LoadResult> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.compute_loads(request).await)
    }

    async fn calculate_loads(&self, request: Request<v1::CalculateLoadsRequest>) -> Reply<v1::LoadResult> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.calculate_loads(request))
    }

    async fn compute_load_states(
        &self,
        request: Request<v1::ComputeLoadStatesRequest>,
    ) -> Reply<v1::ComputeLoadStatesResponse> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.compute_load_states(request).await)
    }
}
