//! Load sheets.

use ostler_proto::v1;
use ostler_proto::v1::load_sheet_service_server::LoadSheetService;
use tonic::Request;

use super::standard::{open, reply};
use super::{Reply, Service};
use super::{Streamed, status};
use crate::contract::Presence;
use tonic::Response;

#[tonic::async_trait]
impl LoadSheetService for Service {
    type RenderLoadSheetsStream = Streamed<v1::RenderedLoadSheet>;

    async fn draft_load_sheet(&self, request: Request<v1::DraftLoadSheetRequest>) -> Reply<v1::LoadSheet> {
        let (_, request) = open(request, Presence::Full)?;
        reply(self.app.draft_load_sheet(request).await)
    }

    async fn render_load_sheets(
        &self,
        request: Request<v1::RenderLoadSheetsRequest>,
    ) -> Reply<Self::RenderLoadSheetsStream> {
        let (_, request) = open(request, Presence::Full)?;
        let sheets = self.app.render_load_sheets(request).await.map_err(status::of)?;
        Ok(Response::new(Box::pin(tokio_stream::iter(
            sheets.into_iter().map(Ok),
        ))))
    }
}
