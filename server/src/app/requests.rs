//! The requests of the standard methods, seen alike.

use ostler_proto::v1;
use prost_types::FieldMask;

use super::kinds::{
    Acceptances, AwaitedParts, CargoItems, CompatibilityNotes, Defects, Departures, EvidenceRecords,
    Fitments, Fleets, Jobs, Kind, LoadSheets, Parts, RegulatedItems, RulePacks, Substitutions, Vehicles,
    Weighings, Workshops,
};
use super::standard::Page;

/// `Get…Request`.
pub trait Get<K: Kind> {
    /// Name of the resource.
    fn name(&self) -> &str;
}

/// `List…Request` with its response.
pub trait List<K: Kind> {
    /// The response.
    type Response;
    /// Name of the parent; empty for fleets.
    fn parent(&self) -> &str;
    /// Most results.
    fn page_size(&self) -> i32;
    /// Token of the page before.
    fn page_token(&self) -> &str;
    /// Conditions.
    fn filter(&self) -> &str;
    /// A page as the response.
    fn response(page: Page<K::Message>) -> Self::Response;
}

/// `Create…Request`.
pub trait Create<K: Kind> {
    /// The method, for the idempotency record.
    const METHOD: &'static str;
    /// Name of the parent; empty for fleets.
    fn parent(&self) -> &str;
    /// Id of the new resource.
    fn id(&self) -> &str;
    /// The caller's id of the request.
    fn request_id(&self) -> &str;
    /// Check and answer, but write nothing.
    fn validate_only(&self) -> bool;
    /// The resource.
    fn resource(self) -> Option<K::Message>;
}

/// `Update…Request`.
pub trait Update<K: Kind> {
    /// The method, for the idempotency record.
    const METHOD: &'static str;
    /// The fields to change.
    fn update_mask(&self) -> Option<&FieldMask>;
    /// The caller's id of the request.
    fn request_id(&self) -> &str;
    /// Check and answer, but write nothing.
    fn validate_only(&self) -> bool;
    /// The resource.
    fn resource(self) -> Option<K::Message>;
}

/// `Delete…Request`.
pub trait Delete<K: Kind> {
    /// The method, for the idempotency record.
    const METHOD: &'static str;
    /// Name of the resource.
    fn name(&self) -> &str;
    /// The etag it must have.
    fn etag(&self) -> &str;
    /// The caller's id of the request.
    fn request_id(&self) -> &str;
    /// Check and answer, but write nothing.
    fn validate_only(&self) -> bool;
    /// Delete what stands below as well.
    fn force(&self) -> bool;
}

macro_rules! reads {
    ($kind:ident, $get:ident, $list:ident => $response:ident . $items:ident, parent: $parent:expr) => {
        impl Get<$kind> for v1::$get {
            fn name(&self) -> &str {
                &self.name
            }
        }
        impl List<$kind> for v1::$list {
            type Response = v1::$response;
            fn parent(&self) -> &str {
                let parent: fn(&Self) -> &str = $parent;
                parent(self)
            }
            fn page_size(&self) -> i32 {
                self.page_size
            }
            fn page_token(&self) -> &str {
                &self.page_token
            }
            fn filter(&self) -> &str {
                &self.filter
            }
            fn response(page: Page<<$kind as Kind>::Message>) -> v1::$response {
                v1::$response {
                    $items: page.items,
                    next_page_token: page.next_page_token,
                }
            }
        }
    };
}

macro_rules! create {
    ($kind:ident, $create:ident . $field:ident, $id:ident, parent: $parent:expr) => {
        impl Create<$kind> for v1::$create {
            const METHOD: &'static str = stringify!($create);
            fn parent(&self) -> &str {
                let parent: fn(&Self) -> &str = $parent;
                parent(self)
            }
            fn id(&self) -> &str {
                &self.$id
            }
            fn request_id(&self) -> &str {
                &self.request_id
            }
            fn validate_only(&self) -> bool {
                self.validate_only
            }
            fn resource(self) -> Option<<$kind as Kind>::Message> {
                self.$field
            }
        }
    };
}

macro_rules! update {
    ($kind:ident, $update:ident . $field:ident) => {
        impl Update<$kind> for v1::$update {
            const METHOD: &'static str = stringify!($update);
            fn update_mask(&self) -> Option<&FieldMask> {
                self.update_mask.as_ref()
            }
            fn request_id(&self) -> &str {
                &self.request_id
            }
            fn validate_only(&self) -> bool {
                self.validate_only
            }
            fn resource(self) -> Option<<$kind as Kind>::Message> {
                self.$field
            }
        }
    };
}

macro_rules! delete {
    ($kind:ident, $delete:ident, force: $force:expr) => {
        impl Delete<$kind> for v1::$delete {
            const METHOD: &'static str = stringify!($delete);
            fn name(&self) -> &str {
                &self.name
            }
            fn etag(&self) -> &str {
                &self.etag
            }
            fn request_id(&self) -> &str {
                &self.request_id
            }
            fn validate_only(&self) -> bool {
                self.validate_only
            }
            fn force(&self) -> bool {
                let force: fn(&Self) -> bool = $force;
                force(self)
            }
        }
    };
}

macro_rules! whole {
    ($kind:ident, $get:ident, $list:ident => $response:ident . $items:ident,
     $create:ident . $field:ident : $id:ident, $update:ident, $delete:ident) => {
        reads!($kind, $get, $list => $response.$items, parent: |request| &request.parent);
        create!($kind, $create.$field, $id, parent: |request| &request.parent);
        update!($kind, $update.$field);
        delete!($kind, $delete, force: |_| false);
    };
}

reads!(Fleets, GetFleetRequest, ListFleetsRequest => ListFleetsResponse.fleets, parent: |_| "");
create!(Fleets, CreateFleetRequest.fleet, fleet_id, parent: |_| "");
update!(Fleets, UpdateFleetRequest.fleet);
delete!(Fleets, DeleteFleetRequest, force: |request| request.force);

reads!(Vehicles, GetVehicleRequest, ListVehiclesRequest => ListVehiclesResponse.vehicles,
    parent: |request| &request.parent);
create!(Vehicles, CreateVehicleRequest.vehicle, vehicle_id, parent: |request| &request.parent);
update!(Vehicles, UpdateVehicleRequest.vehicle);
delete!(Vehicles, DeleteVehicleRequest, force: |request| request.force);

whole!(Fitments, GetFitmentRequest, ListFitmentsRequest => ListFitmentsResponse.fitments,
    CreateFitmentRequest.fitment: fitment_id, UpdateFitmentRequest, DeleteFitmentRequest);
whole!(Parts, GetPartRequest, ListPartsRequest => ListPartsResponse.parts,
    CreatePartRequest.part: part_id, UpdatePartRequest, DeletePartRequest);
whole!(CompatibilityNotes, GetCompatibilityNoteRequest,
    ListCompatibilityNotesRequest => ListCompatibilityNotesResponse.compatibility_notes,
    CreateCompatibilityNoteRequest.compatibility_note: compatibility_note_id,
    UpdateCompatibilityNoteRequest, DeleteCompatibilityNoteRequest);
whole!(Defects, GetDefectRequest, ListDefectsRequest => ListDefectsResponse.defects,
    CreateDefectRequest.defect: defect_id, UpdateDefectRequest, DeleteDefectRequest);
whole!(CargoItems, GetCargoItemRequest, ListCargoItemsRequest => ListCargoItemsResponse.cargo_items,
    CreateCargoItemRequest.cargo_item: cargo_item_id, UpdateCargoItemRequest, DeleteCargoItemRequest);
whole!(Weighings, GetWeighingRequest, ListWeighingsRequest => ListWeighingsResponse.weighings,
    CreateWeighingRequest.weighing: weighing_id, UpdateWeighingRequest, DeleteWeighingRequest);
whole!(EvidenceRecords, GetEvidenceRequest, ListEvidenceRequest => ListEvidenceResponse.evidence,
    CreateEvidenceRequest.evidence: evidence_id, UpdateEvidenceRequest, DeleteEvidenceRequest);
whole!(RegulatedItems, GetRegulatedItemRequest,
    ListRegulatedItemsRequest => ListRegulatedItemsResponse.regulated_items,
    CreateRegulatedItemRequest.regulated_item: regulated_item_id,
    UpdateRegulatedItemRequest, DeleteRegulatedItemRequest);
whole!(Workshops, GetWorkshopRequest, ListWorkshopsRequest => ListWorkshopsResponse.workshops,
    CreateWorkshopRequest.workshop: workshop_id, UpdateWorkshopRequest, DeleteWorkshopRequest);
whole!(AwaitedParts, GetAwaitedPartRequest, ListAwaitedPartsRequest => ListAwaitedPartsResponse.awaited_parts,
    CreateAwaitedPartRequest.awaited_part: awaited_part_id, UpdateAwaitedPartRequest, DeleteAwaitedPartRequest);
whole!(Jobs, GetJobRequest, ListJobsRequest => ListJobsResponse.jobs,
    CreateJobRequest.job: job_id, UpdateJobRequest, DeleteJobRequest);
whole!(Departures, GetDepartureRequest, ListDeparturesRequest => ListDeparturesResponse.departures,
    CreateDepartureRequest.departure: departure_id, UpdateDepartureRequest, DeleteDepartureRequest);

reads!(Acceptances, GetAcceptanceRequest, ListAcceptancesRequest => ListAcceptancesResponse.acceptances,
    parent: |request| &request.parent);
delete!(Acceptances, DeleteAcceptanceRequest, force: |_| false);

reads!(LoadSheets, GetLoadSheetRequest, ListLoadSheetsRequest => ListLoadSheetsResponse.load_sheets,
    parent: |request| &request.parent);

reads!(RulePacks, GetRulePackRequest, ListRulePacksRequest => ListRulePacksResponse.rule_packs,
    parent: |request| &request.parent);
create!(RulePacks, CreateRulePackRequest.rule_pack, rule_pack_id, parent: |request| &request.parent);
delete!(RulePacks, DeleteRulePackRequest, force: |_| false);

reads!(Substitutions, GetSubstitutionRequest, ListSubstitutionsRequest => ListSubstitutionsResponse.substitutions,
    parent: |request| &request.parent);
update!(Substitutions, UpdateSubstitutionRequest.substitution);
delete!(Substitutions, DeleteSubstitutionRequest, force: |_| false);
