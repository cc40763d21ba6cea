//! Jobs.

use ostler_proto::v1;
use ostler_proto::v1::job_service_server::JobService;
use tonic::Request;

use super::standard::reply;
use super::{Reply, Service};
use crate::app::Call;
use crate::app::kinds::Jobs;
use crate::contract::Presence;

#[tonic::async_trait]
impl JobService for Service {
    async fn get_job(&self, request: Request<v1::GetJobRequest>) -> Reply<v1::Job> {
        self.get::<Jobs>(request).await
    }

    async fn list_jobs(&self, request: Request<v1::ListJobsRequest>) -> Reply<v1::ListJobsResponse> {
        self.list::<Jobs, _>(request).await
    }

    async fn create_job(&self, request: Request<v1::CreateJobRequest>) -> Reply<v1::Job> {
        self.create::<Jobs, _>(request).await
    }

    async fn update_job(&self, request: Request<v1::UpdateJobRequest>) -> Reply<v1::Job> {
        self.update::<Jobs, _>(request).await
    }

    async fn delete_job(&self, request: Request<v1::DeleteJobRequest>) -> Reply<()> {
        self.delete::<Jobs, _>(request).await
    }

    async fn start_job(&self, request: Request<v1::StartJobRequest>) -> Reply<v1::Job> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let call = Call::new(
            &caller.actor,
            "StartJobRequest",
            &request,
            &request.request_id,
            request.validate_only,
        );
        reply(self.app.start_job(&call, request).await)
    }

    async fn report_job(&self, request: Request<v1::ReportJobRequest>) -> Reply<v1::Job> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let call = Call::new(
            &caller.actor,
            "ReportJobRequest",
            &request,
            &request.request_id,
            request.validate_only,
        );
        reply(self.app.report_job(&call, request).await)
    }

    async fn complete_job(&self, request: Request<v1::CompleteJobRequest>) -> Reply<v1::Job> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let call = Call::new(
            &caller.actor,
            "CompleteJobRequest",
            &request,
            &request.request_id,
            request.validate_only,
        );
        reply(self.app.complete_job(&call, request).await)
    }

    async fn reopen_job(&self, request: Request<v1::ReopenJobRequest>) -> Reply<v1::Job> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let call = Call::new(
            &caller.actor,
            "ReopenJobRequest",
            &request,
            &request.request_id,
            request.validate_only,
        );
        reply(self.app.reopen_job(&call, request).await)
    }
}
