//! Load sheets.

use ostler_proto::v1;
use ostler_proto::v1::load_sheet_service_server::LoadSheetService;
use tonic::Request;

use super::standard::reply;
use super::{Reply, Service};
use super::{Streamed, encoded};
use crate::app::Call;
use crate::app::kinds::LoadSheets;
use crate::app::requests::List;
use crate::app::standard::ListCall;
use crate::contract::Presence;

#[tonic::async_trait]
impl LoadSheetService for Service {
    type RenderLoadSheetsStream = Streamed<v1::RenderedLoadSheet>;

    async fn draft_load_sheet(&self, request: Request<v1::DraftLoadSheetRequest>) -> Reply<v1::LoadSheet> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.draft_load_sheet(request).await)
    }

    async fn render_load_sheets(
        &self,
        request: Request<v1::RenderLoadSheetsRequest>,
    ) -> Reply<Self::RenderLoadSheetsStream> {
        let (_, request) = self.open(request, Presence::Full).await?;
        encoded::stream(self.app.render_load_sheets(request).await)
    }

    async fn issue_load_sheet(
        &self,
        request: Request<v1::IssueLoadSheetRequest>,
    ) -> Reply<v1::IssuedLoadSheet> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let call = Call::new(
            &caller.actor,
            "IssueLoadSheetRequest",
            &request,
            &request.request_id,
            request.validate_only,
        );
        reply(self.app.issue_load_sheet(&call, request).await)
    }

    async fn get_load_sheet(&self, request: Request<v1::GetLoadSheetRequest>) -> Reply<v1::IssuedLoadSheet> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.get_load_sheet(&request.name).await)
    }

    async fn list_load_sheets(
        &self,
        request: Request<v1::ListLoadSheetsRequest>,
    ) -> Reply<v1::ListLoadSheetsResponse> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let call = ListCall {
            scope: &caller.actor.scope,
            parent: &request.parent,
            page_size: request.page_size,
            page_token: &request.page_token,
            filter: &request.filter,
        };
        let page = self.app.list_load_sheets(call).await;
        reply(page.map(<v1::ListLoadSheetsRequest as List<LoadSheets>>::response))
    }

    async fn verify_load_sheet(
        &self,
        request: Request<v1::VerifyLoadSheetRequest>,
    ) -> Reply<v1::VerifyLoadSheetResponse> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.verify_load_sheet(request).await)
    }
}
