//! Tyres and wheels.

use ostler_proto::v1;
use ostler_proto::v1::tyre_service_server::TyreService;
use tonic::Request;

use super::standard::reply;
use super::{Reply, Service};
use crate::contract::Presence;

#[tonic::async_trait]
impl TyreService for Service {
    async fn compute_tyres(
        &self,
        request: Request<v1::ComputeTyresRequest>,
    ) -> Reply<v1::ComputeTyresResponse> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.compute_tyres(request).await)
    }

    async fn calculate_tyre(&self, request: Request<v1::CalculateTyreRequest>) -> Reply<v1::TyreCalculation> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.calculate_tyre(request))
    }

    async fn compute_spare_interchange(
        &self,
        request: Request<v1::ComputeSpareInterchangeRequest>,
    ) -> Reply<v1::ComputeSpareInterchangeResponse> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.compute_spare_interchange(request).await)
    }
}
