//! Drivelines.

use ostler_proto::v1;
use ostler_proto::v1::driveline_service_server::DrivelineService;
use tonic::Request;

use super::standard::reply;
use super::{Reply, Service};
use crate::contract::Presence;

#[tonic::async_trait]
impl DrivelineService for Service {
    async fn compute_driveline(
        &self,
        request: Request<v1::ComputeDrivelineRequest>,
    ) -> Reply<v1::DrivelineReport> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.compute_driveline(request).await)
    }

    async fn compare_drivelines(
        &self,
        request: Request<v1::CompareDrivelinesRequest>,
    ) -> Reply<v1::DrivelineReport> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.compare_drivelines(request))
    }
}
