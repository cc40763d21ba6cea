//! The gRPC services: convert, one call into `app`, convert.

mod acceptances;
mod awaited_parts;
mod cargo;
mod changes;
mod compatibility_notes;
mod defects;
mod departures;
mod driveline;
mod encoded;
mod evidence;
mod fleets;
mod fuel;
mod history;
mod jobs;
mod load_sheets;
mod loads;
mod parts;
mod plans;
mod power;
mod readiness;
pub(crate) mod reflection;
mod regulated_items;
mod restraint;
mod rule_packs;
mod spares;
mod stance;
mod standard;
pub mod status;
mod stowage;
mod substitutions;
mod tanks;
mod tyres;
mod vehicles;
mod water;
mod weighings;
mod workshops;

use std::pin::Pin;

use ostler_proto::v1;
use tokio_stream::Stream;
use tonic::service::Routes;
use tonic::{Response, Status};

use crate::app::App;
pub(crate) use encoded::put_in_place;

/// Largest request that is read: a fleet file of 8 MiB and what surrounds it.
pub(crate) const REQUEST_BYTES_MAX: usize = 9 * 1024 * 1024;

/// Steps of an answer that wait for a slow caller; further ones are left out.
const STEPS_WAITING_MAX: usize = 4;

/// Answer of a method.
type Reply<T> = Result<Response<T>, Status>;

/// Answer of a method that streams.
type Streamed<T> = Pin<Box<dyn Stream<Item = Result<T, Status>> + Send>>;

/// Each service of the API over the same use cases.
#[derive(Clone)]
pub(crate) struct Service {
    app: App,
}

/// All services of the API.
pub fn routes(app: App) -> Routes {
    let service = Service { app };
    macro_rules! serve {
        ($($module:ident :: $server:ident),* $(,)?) => {{
            let mut routes = Routes::builder();
            $(routes.add_service(
                v1::$module::$server::new(service.clone()).max_decoding_message_size(REQUEST_BYTES_MAX),
            );)*
            routes.routes()
        }};
    }
    serve!(
        acceptance_service_server::AcceptanceServiceServer,
        awaited_part_service_server::AwaitedPartServiceServer,
        cargo_service_server::CargoServiceServer,
        change_service_server::ChangeServiceServer,
        compatibility_note_service_server::CompatibilityNoteServiceServer,
        defect_service_server::DefectServiceServer,
        departure_service_server::DepartureServiceServer,
        driveline_service_server::DrivelineServiceServer,
        evidence_service_server::EvidenceServiceServer,
        fleet_service_server::FleetServiceServer,
        fuel_service_server::FuelServiceServer,
        history_service_server::HistoryServiceServer,
        job_service_server::JobServiceServer,
        load_service_server::LoadServiceServer,
        load_sheet_service_server::LoadSheetServiceServer,
        part_service_server::PartServiceServer,
        plan_service_server::PlanServiceServer,
        power_service_server::PowerServiceServer,
        readiness_service_server::ReadinessServiceServer,
        regulated_item_service_server::RegulatedItemServiceServer,
        restraint_service_server::RestraintServiceServer,
        rule_pack_service_server::RulePackServiceServer,
        spares_service_server::SparesServiceServer,
        stance_service_server::StanceServiceServer,
        stowage_service_server::StowageServiceServer,
        substitution_service_server::SubstitutionServiceServer,
        tank_service_server::TankServiceServer,
        tyre_service_server::TyreServiceServer,
        vehicle_service_server::VehicleServiceServer,
        water_service_server::WaterServiceServer,
        weighing_service_server::WeighingServiceServer,
        workshop_service_server::WorkshopServiceServer,
    )
}
