//! Writes of several kinds, each with what it must leave in the record.

use ostler_proto::v1;
use ostler_proto::v1::cargo_service_client::CargoServiceClient;
use ostler_proto::v1::defect_service_client::DefectServiceClient;
use ostler_proto::v1::substitution_service_client::SubstitutionServiceClient;
use ostler_proto::v1::vehicle_service_client::VehicleServiceClient;
use ostler_tests::process::AuthorizedChannel;
use rand::RngExt as _;
use rand_chacha::ChaCha8Rng;
use tonic::{Code, Status};

pub(crate) const FLEET: &str = "fleets/yard";
const VEHICLE: &str = "fleets/yard/vehicles/rig";

/// Writers at work at the same time, each with a slot of the vehicle for itself.
pub(crate) const WRITERS: usize = 4;

/// The fleet they write to.
pub(crate) fn fleet_file() -> Vec<u8> {
    let slots: String = (0..WRITERS)
        .map(|writer| format!("        - {{id: lamp-{writer}, system: electrical}}\n"))
        .collect();
    let fitments: String = (0..WRITERS)
        .map(|writer| format!("      lamp-{writer}: {{part: lamp-a}}\n"))
        .collect();
    format!(
        "fleet_file: 1\n\
         fleet: {{id: yard, display_name: Yard}}\n\
         parts:\n  \
           lamp-a: {{display_name: lamp A, kind: lamp}}\n  \
           lamp-b: {{display_name: lamp B, kind: lamp}}\n\
         vehicles:\n  \
           rig:\n    \
             display_name: Rig\n    \
             specification:\n      \
               wheelbase_mm: 2900\n      \
               slots:\n{slots}    \
             fitments:\n{fitments}"
    )
    .into_bytes()
}

fn part(id: &str) -> String {
    format!("{FLEET}/parts/{id}")
}

/// One write with its request id.
#[derive(Debug, Clone)]
pub(crate) enum Write {
    CreateItem(v1::CreateCargoItemRequest),
    UpdateItem(v1::UpdateCargoItemRequest),
    AddDefect(v1::CreateDefectRequest),
    /// Records a substitution as fitted: the substitution and the fitment change together.
    Substitute(v1::RecordSubstitutionRequest),
}

/// A resource as a server answered it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Resource {
    Item(v1::CargoItem),
    Defect(v1::Defect),
    Substitution(v1::Substitution),
}

/// Draws writes; each that was answered is the ground of the next.
#[derive(Debug)]
pub(crate) struct Writer {
    number: usize,
    random: ChaCha8Rng,
    count: u32,
    /// Name of the last item that is known to be there.
    item: Option<String>,
    /// The part in the slot of its own.
    part: String,
}

impl Writer {
    pub(crate) fn new(number: usize, random: ChaCha8Rng) -> Self {
        Self {
            number,
            random,
            count: 0,
            item: None,
            part: part("lamp-a"),
        }
    }

    pub(crate) fn next(&mut self) -> Write {
        self.count += 1;
        let id = format!("w{}-{}", self.number, self.count);
        let request_id = uuid::Builder::from_random_bytes(self.random.random())
            .into_uuid()
            .to_string();
        let parent = FLEET.to_owned();
        match (self.random.random_range(0..4), self.item.clone()) {
            (0, _) => Write::AddDefect(v1::CreateDefectRequest {
                parent,
                defect_id: id.clone(),
                defect: Some(v1::Defect {
                    vehicle: VEHICLE.to_owned(),
                    description: format!("fault {id}"),
                    severity: v1::DefectSeverity::Minor.into(),
                    ..Default::default()
                }),
                request_id,
                ..Default::default()
            }),
            (1, _) => Write::Substitute(self.substitution(id, request_id)),
            // Two fields, so that half a change would show.
            (2, Some(name)) => Write::UpdateItem(v1::UpdateCargoItemRequest {
                cargo_item: Some(v1::CargoItem {
                    name,
                    ..self.item(&id)
                }),
                request_id,
                ..Default::default()
            }),
            _ => Write::CreateItem(v1::CreateCargoItemRequest {
                parent,
                cargo_item: Some(self.item(&id)),
                cargo_item_id: id,
                request_id,
                ..Default::default()
            }),
        }
    }

    fn item(&self, id: &str) -> v1::CargoItem {
        v1::CargoItem {
            display_name: format!("thing {id}"),
            quantity: i32::try_from(self.count).unwrap(),
            vehicle: VEHICLE.to_owned(),
            ..Default::default()
        }
    }

    fn substitution(&self, id: String, request_id: String) -> v1::RecordSubstitutionRequest {
        let other = if self.part == part("lamp-a") {
            "lamp-b"
        } else {
            "lamp-a"
        };
        v1::RecordSubstitutionRequest {
            parent: FLEET.to_owned(),
            substitution: Some(v1::Substitution {
                vehicle: VEHICLE.to_owned(),
                replacements: vec![v1::Replacement {
                    slot: format!("lamp-{}", self.number),
                    incoming_part: part(other),
                    ..Default::default()
                }],
                reason: format!("because of {id}"),
                fitted_date: "2027-03-19".to_owned(),
                ..Default::default()
            }),
            substitution_id: id,
            request_id,
            ..Default::default()
        }
    }

    /// Takes note of what is there.
    pub(crate) fn learn(&mut self, resource: &Resource) {
        match resource {
            Resource::Item(item) => self.item = Some(item.name.clone()),
            Resource::Substitution(substitution) => {
                let replacement = substitution.replacements.first();
                self.part = replacement.unwrap().incoming_part.clone();
            }
            Resource::Defect(_) => {}
        }
    }
}

impl Write {
    pub(crate) fn request_id(&self) -> &str {
        match self {
            Self::CreateItem(request) => &request.request_id,
            Self::UpdateItem(request) => &request.request_id,
            Self::AddDefect(request) => &request.request_id,
            Self::Substitute(request) => &request.request_id,
        }
    }

    /// Name of the resource it writes.
    pub(crate) fn name(&self) -> String {
        match self {
            Self::CreateItem(request) => format!("{FLEET}/cargoItems/{}", request.cargo_item_id),
            Self::UpdateItem(request) => request.cargo_item.clone().unwrap_or_default().name,
            Self::AddDefect(request) => format!("{FLEET}/defects/{}", request.defect_id),
            Self::Substitute(request) => format!("{FLEET}/substitutions/{}", request.substitution_id),
        }
    }

    /// Everything it changes, and how the history calls that.
    pub(crate) fn changes(&self) -> Vec<(String, &'static str)> {
        match self {
            Self::CreateItem(_) | Self::AddDefect(_) => vec![(self.name(), "create")],
            Self::UpdateItem(_) => vec![(self.name(), "update")],
            Self::Substitute(_) => vec![
                (self.name(), "record"),
                (self.fitment().unwrap_or_default(), "fit"),
            ],
        }
    }

    /// The fitment that changes with it.
    pub(crate) fn fitment(&self) -> Option<String> {
        let Self::Substitute(request) = self else {
            return None;
        };
        let replacement = request.substitution.as_ref()?.replacements.first()?;
        Some(format!("{VEHICLE}/fitments/{}", replacement.slot))
    }

    /// Whether `resource` is as this write makes it: a text of its own stands in it.
    pub(crate) fn made(&self, resource: &Resource) -> bool {
        let is = |wanted: &Option<v1::CargoItem>, found: &v1::CargoItem| {
            let wanted = wanted.clone().unwrap_or_default();
            wanted.display_name == found.display_name && wanted.quantity == found.quantity
        };
        match (self, resource) {
            (Self::CreateItem(request), Resource::Item(found)) => is(&request.cargo_item, found),
            (Self::UpdateItem(request), Resource::Item(found)) => is(&request.cargo_item, found),
            (Self::AddDefect(_), Resource::Defect(found)) => found.name == self.name(),
            (Self::Substitute(_), Resource::Substitution(found)) => {
                found.name == self.name() && found.state() == v1::SubstitutionState::Fitted
            }
            _ => false,
        }
    }

    /// Sends it.
    pub(crate) async fn send(&self, channel: &AuthorizedChannel) -> Result<Resource, Status> {
        let channel = channel.clone();
        Ok(match self.clone() {
            Self::CreateItem(request) => Resource::Item(
                CargoServiceClient::new(channel)
                    .create_cargo_item(request)
                    .await?
                    .into_inner(),
            ),
            Self::UpdateItem(request) => Resource::Item(
                CargoServiceClient::new(channel)
                    .update_cargo_item(request)
                    .await?
                    .into_inner(),
            ),
            Self::AddDefect(request) => Resource::Defect(
                DefectServiceClient::new(channel)
                    .create_defect(request)
                    .await?
                    .into_inner(),
            ),
            Self::Substitute(request) => Resource::Substitution(
                SubstitutionServiceClient::new(channel)
                    .record_substitution(request)
                    .await?
                    .into_inner(),
            ),
        })
    }

    /// The resource it writes, as it is now. `None`: there is none.
    pub(crate) async fn read(&self, channel: &AuthorizedChannel) -> Option<Resource> {
        let (channel, name) = (channel.clone(), self.name());
        let found = match self {
            Self::CreateItem(_) | Self::UpdateItem(_) => CargoServiceClient::new(channel)
                .get_cargo_item(v1::GetCargoItemRequest { name })
                .await
                .map(|answer| Resource::Item(answer.into_inner())),
            Self::AddDefect(_) => DefectServiceClient::new(channel)
                .get_defect(v1::GetDefectRequest { name })
                .await
                .map(|answer| Resource::Defect(answer.into_inner())),
            Self::Substitute(_) => SubstitutionServiceClient::new(channel)
                .get_substitution(v1::GetSubstitutionRequest { name })
                .await
                .map(|answer| Resource::Substitution(answer.into_inner())),
        };
        match found {
            Ok(resource) => Some(resource),
            Err(status) if status.code() == Code::NotFound => None,
            Err(status) => panic!("{} cannot be read: {status}", self.name()),
        }
    }

    /// The substitution that the fitment came with. `None`: none, or this write changes no fitment.
    pub(crate) async fn fitted_by(&self, channel: &AuthorizedChannel) -> Option<String> {
        let name = self.fitment()?;
        let fitment = VehicleServiceClient::new(channel.clone())
            .get_fitment(v1::GetFitmentRequest { name })
            .await
            .unwrap()
            .into_inner();
        (!fitment.substitution.is_empty()).then_some(fitment.substitution)
    }
}
