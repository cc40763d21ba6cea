//! Plans.

use ostler_proto::v1;
use ostler_proto::v1::plan_service_server::PlanService;
use tokio::sync::mpsc;
use tokio_stream::StreamExt;
use tokio_stream::wrappers::ReceiverStream;
use tonic::{Request, Response};
use tracing::Instrument as _;

use super::{Reply, STEPS_WAITING_MAX, Service, Streamed, status};
use crate::contract::Presence;

#[tonic::async_trait]
impl PlanService for Service {
    type ComputePlanStream = Streamed<v1::ComputePlanResponse>;
    type ComputeChanceStream = Streamed<v1::ComputeChanceResponse>;

    async fn compute_plan(&self, request: Request<v1::ComputePlanRequest>) -> Reply<Self::ComputePlanStream> {
        let (_, request) = self.open(request, Presence::Full).await?;
        let (steps, stream) = mpsc::channel(STEPS_WAITING_MAX);
        let app = self.app.clone();
        let work = async move {
            let plan = app.compute_plan(request, &steps).await;
            let last = plan.map(|plan| v1::ComputePlanResponse {
                step: Some(v1::compute_plan_response::Step::Plan(plan)),
            });
            // The caller may be gone; then nobody wants it.
            drop(steps.send(last).await);
        };
        tokio::spawn(work.in_current_span());
        let stream = ReceiverStream::new(stream).map(|step| step.map_err(status::of));
        Ok(Response::new(Box::pin(stream)))
    }

    async fn compute_chance(
        &self,
        request: Request<v1::ComputeChanceRequest>,
    ) -> Reply<Self::ComputeChanceStream> {
        let (_, request) = self.open(request, Presence::Full).await?;
        let (steps, stream) = mpsc::channel(STEPS_WAITING_MAX);
        let app = self.app.clone();
        let work = async move {
            let chance = app.compute_chance(request, &steps).await;
            let last = chance.map(|chance| v1::ComputeChanceResponse {
                chance: Some(chance),
                last: true,
            });
            drop(steps.send(last).await);
        };
        tokio::spawn(work.in_current_span());
        let stream = ReceiverStream::new(stream).map(|step| step.map_err(status::of));
        Ok(Response::new(Box::pin(stream)))
    }
}
