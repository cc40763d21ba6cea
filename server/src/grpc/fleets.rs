//! Fleets and fleet files.

use ostler_proto::v1;
use ostler_proto::v1::fleet_service_server::FleetService;
use tonic::Request;
use tracing::Instrument as _;

use super::standard::reply;
use super::{Reply, Service};
use super::{Streamed, status};
use crate::app::Call;
use crate::app::kinds::Fleets;
use crate::contract::Presence;
use tokio_stream::wrappers::ReceiverStream;
use tonic::Response;

#[tonic::async_trait]
impl FleetService for Service {
    type ImportFleetStream = Streamed<v1::ImportFleetResponse>;

    async fn get_fleet(&self, request: Request<v1::GetFleetRequest>) -> Reply<v1::Fleet> {
        self.get::<Fleets>(request).await
    }

    async fn list_fleets(&self, request: Request<v1::ListFleetsRequest>) -> Reply<v1::ListFleetsResponse> {
        self.list::<Fleets, _>(request).await
    }

    async fn create_fleet(&self, request: Request<v1::CreateFleetRequest>) -> Reply<v1::Fleet> {
        self.create::<Fleets, _>(request).await
    }

    async fn update_fleet(&self, request: Request<v1::UpdateFleetRequest>) -> Reply<v1::Fleet> {
        self.update::<Fleets, _>(request).await
    }

    async fn delete_fleet(&self, request: Request<v1::DeleteFleetRequest>) -> Reply<()> {
        self.delete::<Fleets, _>(request).await
    }

    async fn import_fleet(&self, request: Request<v1::ImportFleetRequest>) -> Reply<Self::ImportFleetStream> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let call = Call::new(
            &caller.actor,
            "ImportFleetRequest",
            &request,
            &request.request_id,
            request.validate_only,
        );
        let (progress, steps) = tokio::sync::mpsc::channel(16);
        let app = self.app.clone();
        let work = async move {
            let last = match app.import_fleet(&call, &request.fleet_file, &progress).await {
                Ok(outcome) => Ok(v1::ImportFleetResponse {
                    step: Some(v1::import_fleet_response::Step::Outcome(outcome)),
                }),
                Err(error) => Err(status::of(error)),
            };
            // The caller may be gone; the import is done all the same.
            drop(progress.send(last).await);
        };
        tokio::spawn(work.in_current_span());
        Ok(Response::new(Box::pin(ReceiverStream::new(steps))))
    }

    async fn export_fleet(&self, request: Request<v1::ExportFleetRequest>) -> Reply<v1::ExportFleetResponse> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.export_fleet(request).await)
    }
}
