//! The made-up server's services.

use std::pin::Pin;

use ostler_proto::v1::fleet_service_server::FleetService;
use ostler_proto::v1::load_sheet_service_server::LoadSheetService;
use ostler_proto::v1::readiness_service_server::ReadinessService;
use ostler_proto::v1::substitution_service_server::SubstitutionService;
use ostler_proto::v1::{self, import_fleet_response::Step};
use tonic::{Code, Request, Response, Status, async_trait};
use tonic_types::FieldViolation;

use crate::fake::{Service, refuse};

/// Methods that no test calls, in the form that `async_trait` gives methods.
macro_rules! not_served {
    ($($method:ident($request:ident) -> $response:ty;)*) => {
        $(
            fn $method<'a, 'b>(
                &'a self,
                _: Request<v1::$request>,
            ) -> Pin<Box<dyn Future<Output = Result<Response<$response>, Status>> + Send + 'b>>
            where
                'a: 'b,
                Self: 'b,
            {
                Box::pin(async { Err(Status::unimplemented("not served")) })
            }
        )*
    };
}

#[async_trait]
impl ReadinessService for Service {
    type WatchReadinessStream = tokio_stream::Empty<Result<v1::ReadinessChange, Status>>;

    not_served! {
        watch_readiness(WatchReadinessRequest) -> Self::WatchReadinessStream;
        compare_readiness(CompareReadinessRequest) -> v1::CompareReadinessResponse;
        render_readiness_report(RenderReadinessReportRequest) -> v1::RenderedReport;
    }

    async fn get_readiness(
        &self,
        request: Request<v1::GetReadinessRequest>,
    ) -> Result<Response<v1::Readiness>, Status> {
        let request = self.enter(request).await?;
        let verdict = self.0.lock().unwrap().verdict;
        let vehicle = v1::VehicleReadiness {
            vehicle: request.vehicle,
            verdict: verdict.into(),
            ..Default::default()
        };
        Ok(Response::new(v1::Readiness {
            departure: request.departure,
            verdict: verdict.into(),
            vehicles: vec![vehicle],
            ..Default::default()
        }))
    }
}

#[async_trait]
impl SubstitutionService for Service {
    async fn record_substitution(
        &self,
        request: Request<v1::RecordSubstitutionRequest>,
    ) -> Result<Response<v1::Substitution>, Status> {
        let request = self.enter(request).await?;
        let mut substitution = request.substitution.unwrap_or_default();
        let violation = |(index, replacement): (usize, &v1::Replacement)| {
            let field = format!("substitution.replacements[{index}].slot");
            replacement
                .slot
                .is_empty()
                .then(|| FieldViolation::new(field, "must be set"))
        };
        let violations: Vec<_> = substitution
            .replacements
            .iter()
            .enumerate()
            .filter_map(violation)
            .collect();
        if !violations.is_empty() {
            return Err(refuse(
                Code::InvalidArgument,
                "INVALID_FIELD",
                "the request is not valid",
                violations,
            ));
        }
        substitution.name = format!("{}/substitutions/{}", request.parent, request.substitution_id);
        substitution.state = v1::SubstitutionState::Proposed.into();
        Ok(Response::new(substitution))
    }

    async fn get_substitution(
        &self,
        request: Request<v1::GetSubstitutionRequest>,
    ) -> Result<Response<v1::Substitution>, Status> {
        let request = self.enter(request).await?;
        let text = format!("{} does not exist", request.name);
        Err(refuse(Code::NotFound, "RESOURCE_NOT_FOUND", &text, Vec::new()))
    }

    async fn list_substitutions(
        &self,
        request: Request<v1::ListSubstitutionsRequest>,
    ) -> Result<Response<v1::ListSubstitutionsResponse>, Status> {
        let request = self.enter(request).await?;
        let (id, next_page_token) = match request.page_token.as_str() {
            "" => ("s1", "second".to_owned()),
            _ => ("s2", String::new()),
        };
        let substitution = v1::Substitution {
            name: format!("{}/substitutions/{id}", request.parent),
            ..Default::default()
        };
        let substitutions = vec![substitution];
        Ok(Response::new(v1::ListSubstitutionsResponse {
            substitutions,
            next_page_token,
        }))
    }

    async fn update_substitution(
        &self,
        request: Request<v1::UpdateSubstitutionRequest>,
    ) -> Result<Response<v1::Substitution>, Status> {
        let request = self.enter(request).await?;
        Ok(Response::new(request.substitution.unwrap_or_default()))
    }

    async fn delete_substitution(
        &self,
        request: Request<v1::DeleteSubstitutionRequest>,
    ) -> Result<Response<()>, Status> {
        self.enter(request).await?;
        Ok(Response::new(()))
    }

    not_served! {
        fit_substitution(FitSubstitutionRequest) -> v1::Substitution;
        withdraw_substitution(WithdrawSubstitutionRequest) -> v1::Substitution;
        keep_assessment(KeepAssessmentRequest) -> v1::Substitution;
        settle_interface(SettleInterfaceRequest) -> v1::Substitution;
        approve_substitution(ApproveSubstitutionRequest) -> v1::Substitution;
        prove_substitution(ProveSubstitutionRequest) -> v1::Substitution;
        undo_fitting(UndoFittingRequest) -> v1::Substitution;
        assess_substitution(AssessSubstitutionRequest) -> v1::SubstitutionAssessment;
    }
}

#[async_trait]
impl FleetService for Service {
    type ImportFleetStream = tokio_stream::Iter<std::vec::IntoIter<Result<v1::ImportFleetResponse, Status>>>;

    async fn import_fleet(
        &self,
        request: Request<v1::ImportFleetRequest>,
    ) -> Result<Response<Self::ImportFleetStream>, Status> {
        let request = self.enter(request).await?;
        let progress = |phase: &str| {
            let progress = v1::ImportProgress {
                phase: phase.to_owned(),
                done_count: 0,
                total_count: 3,
            };
            Ok(v1::ImportFleetResponse {
                step: Some(Step::Progress(progress)),
            })
        };
        let last = if request.fleet_file.starts_with(b"faulty") {
            let violations = vec![
                FieldViolation::new(
                    "vehicles.v1.wheelbase",
                    "line 3: unknown key; did you mean wheelbase_mm?",
                ),
                FieldViolation::new("parts.p9", "line 7: refers to nothing"),
            ];
            Err(refuse(
                Code::InvalidArgument,
                "FILE_FAULTY",
                "the fleet file has 2 faults",
                violations,
            ))
        } else {
            let outcome = v1::ImportOutcome {
                fleet: "fleets/orrin".to_owned(),
                created_count: 3,
                ..Default::default()
            };
            Ok(v1::ImportFleetResponse {
                step: Some(Step::Outcome(outcome)),
            })
        };
        let steps = vec![progress("read"), progress("check"), progress("check"), last];
        Ok(Response::new(tokio_stream::iter(steps)))
    }

    async fn list_fleets(
        &self,
        request: Request<v1::ListFleetsRequest>,
    ) -> Result<Response<v1::ListFleetsResponse>, Status> {
        self.enter(request).await?;
        let ids = self.0.lock().unwrap().fleets.clone();
        let fleet = |id| v1::Fleet {
            name: format!("fleets/{id}"),
            ..Default::default()
        };
        let fleets = ids.into_iter().map(fleet).collect();
        Ok(Response::new(v1::ListFleetsResponse {
            fleets,
            next_page_token: String::new(),
        }))
    }

    async fn export_fleet(
        &self,
        request: Request<v1::ExportFleetRequest>,
    ) -> Result<Response<v1::ExportFleetResponse>, Status> {
        self.enter(request).await?;
        Ok(Response::new(v1::ExportFleetResponse {
            fleet_file: b"fleet: orrin\n".to_vec(),
        }))
    }

    not_served! {
        get_fleet(GetFleetRequest) -> v1::Fleet;
        create_fleet(CreateFleetRequest) -> v1::Fleet;
        update_fleet(UpdateFleetRequest) -> v1::Fleet;
        delete_fleet(DeleteFleetRequest) -> ();
    }
}

#[async_trait]
impl LoadSheetService for Service {
    type RenderLoadSheetsStream =
        tokio_stream::Iter<std::vec::IntoIter<Result<v1::RenderedLoadSheet, Status>>>;

    async fn render_load_sheets(
        &self,
        request: Request<v1::RenderLoadSheetsRequest>,
    ) -> Result<Response<Self::RenderLoadSheetsStream>, Status> {
        self.enter(request).await?;
        let file_names = self.0.lock().unwrap().sheets.clone();
        let sheet = |(index, file_name): (usize, &str)| {
            Ok(v1::RenderedLoadSheet {
                vehicle: format!("fleets/orrin/vehicles/v{}", index + 1),
                file_name: file_name.to_owned(),
                content: format!("sheet {}\n", index + 1).into_bytes(),
                content_hash: "abc".to_owned(),
                load_sheet: String::new(),
            })
        };
        let sheets: Vec<_> = file_names.into_iter().enumerate().map(sheet).collect();
        Ok(Response::new(tokio_stream::iter(sheets)))
    }

    not_served! {
        draft_load_sheet(DraftLoadSheetRequest) -> v1::LoadSheet;
        issue_load_sheet(IssueLoadSheetRequest) -> v1::IssuedLoadSheet;
        get_load_sheet(GetLoadSheetRequest) -> v1::IssuedLoadSheet;
        list_load_sheets(ListLoadSheetsRequest) -> v1::ListLoadSheetsResponse;
        verify_load_sheet(VerifyLoadSheetRequest) -> v1::VerifyLoadSheetResponse;
    }
}
