//! Stance.

use ostler_proto::v1;
use ostler_proto::v1::stance_service_server::StanceService;
use tonic::Request;

use super::standard::reply;
use super::{Reply, Service};
use crate::contract::Presence;

#[tonic::async_trait]
impl StanceService for Service {
    async fn compute_stance(
        &self,
        request: Request<v1::ComputeStanceRequest>,
    ) -> Reply<v1::ComputeStanceResponse> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.compute_stance(request).await)
    }

    async fn calculate_stance(
        &self,
        request: Request<v1::CalculateStanceRequest>,
    ) -> Reply<v1::CalculateStanceResponse> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.calculate_stance(request))
    }

    async fn calculate_lean(&self, request: Request<v1::CalculateLeanRequest>) -> Reply<v1::LeanDiagnosis> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.calculate_lean(request))
    }

    async fn compute_vehicle_stability(
        &self,
        request: Request<v1::ComputeVehicleStabilityRequest>,
    ) -> Reply<v1::VehicleStability> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.compute_vehicle_stability(request).await)
    }

    async fn diagnose_lean(&self, request: Request<v1::DiagnoseLeanRequest>) -> Reply<v1::LeanDiagnosis> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.diagnose_lean(request).await)
    }

    async fn compute_stability(&self, request: Request<v1::ComputeStabilityRequest>) -> Reply<v1::Stability> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.compute_stability(request))
    }
}
