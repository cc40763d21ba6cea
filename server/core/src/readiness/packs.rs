//! The rule packs of a departure, and which of them speaks about an item.

use std::collections::BTreeSet;
use std::sync::Arc;

use crate::record::{Departure, Id, Name, Record, RegulatedItem, RuleGate, RulePack};
use crate::rules::{
    CategoryChange, CheckedPack, FactUsed, ItemAssessment, RecordFigures, TravelDates, assess_item,
    check_pack, facts_used, item_by, smallest_changes,
};

/// The packs that a departure names, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Packs {
    /// Packs that are in order, latest first.
    checked: Vec<Arc<CheckedPack>>,
    /// Packs that are not on record or have faults, and why.
    faulty: Vec<(Name, String)>,
}

/// Why no pack can assess an item.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NoPack {
    /// The departure names no rule pack.
    #[error("the departure names no rule pack")]
    NoneNamed,
    /// A pack cannot be used.
    #[error("the rule pack {name} cannot be used: {fault}")]
    Faulty {
        /// The pack.
        name: Name,
        /// Why.
        fault: String,
    },
    /// No pack speaks about the topic.
    #[error("no rule pack of the departure speaks about `{topic}`")]
    TopicUnknown {
        /// The topic.
        topic: String,
    },
    /// The pack cannot make anything of the item.
    #[error("{problem}")]
    Item {
        /// Why not.
        problem: String,
    },
}

impl Packs {
    /// The packs of `departure`.
    pub fn of(record: &Record, departure: &Departure) -> Self {
        let check = |pack: &RulePack| match check_pack(pack.clone()) {
            Ok(checked) => Ok(Arc::new(checked)),
            Err(refused) => Err(refused.to_string()),
        };
        Self::checked_by(record, departure, check)
    }

    /// The packs of `departure`, checked by `check`, which gives what [`check_pack`] gives for the same pack.
    pub fn checked_by(
        record: &Record,
        departure: &Departure,
        check: impl Fn(&RulePack) -> Result<Arc<CheckedPack>, String>,
    ) -> Self {
        let mut packs = Self {
            checked: Vec::new(),
            faulty: Vec::new(),
        };
        for name in &departure.rule_packs {
            match record.rule_packs.get(name).map(&check) {
                None => packs
                    .faulty
                    .push((name.clone(), "it is not on record".to_owned())),
                Some(Ok(pack)) => packs.checked.push(pack),
                Some(Err(refused)) => packs.faulty.push((name.clone(), refused)),
            }
        }
        let date = |pack: &Arc<CheckedPack>| (pack.pack().effective_date, pack.pack().name.clone());
        packs.checked.sort_by_key(|pack| std::cmp::Reverse(date(pack)));
        packs
    }

    /// Packs that cannot be used, and why.
    pub fn faulty(&self) -> &[(Name, String)] {
        &self.faulty
    }

    /// Assesses an item by the latest pack that speaks about its topic and holds on the day of departure;
    /// when none holds yet, by the latest that speaks about it.
    ///
    /// # Errors
    /// When no pack can.
    pub fn assess(
        &self,
        record: &Record,
        departure: &Departure,
        item: &RegulatedItem,
        figures: &RecordFigures<'_>,
    ) -> Result<ItemAssessment, NoPack> {
        self.assess_assuming(record, departure, item, figures, &BTreeSet::new())
    }

    /// The same, with the facts named in `assumed` as the item has them, whatever the record says.
    ///
    /// # Errors
    /// When no pack can.
    pub fn assess_assuming(
        &self,
        record: &Record,
        departure: &Departure,
        item: &RegulatedItem,
        figures: &RecordFigures<'_>,
        assumed: &BTreeSet<Id>,
    ) -> Result<ItemAssessment, NoPack> {
        let dates = TravelDates {
            departure_date: departure.departure_date,
            return_date: departure.return_date,
        };
        let pack = self.pack_for(departure, item)?;
        let facts = match pack.topic(&item.topic) {
            Some(topic) => facts_used(&topic, item, figures, assumed),
            None => Vec::new(),
        };
        let item = item_by(item, &facts);
        let evidence = record.evidence.values();
        let assessment = assess_item(pack, &item, evidence, dates).map_err(|refused| NoPack::Item {
            problem: refused.to_string(),
        })?;
        Ok(ItemAssessment {
            facts_used: facts,
            ..assessment
        })
    }

    /// For every category that the item is not in, the smallest change of its facts, or of those that an assessment of
    /// it went by, that would reach it.
    ///
    /// # Errors
    /// When no pack can assess it.
    pub fn category_changes(
        &self,
        departure: &Departure,
        item: &RegulatedItem,
        facts: &[FactUsed],
    ) -> Result<Vec<CategoryChange>, NoPack> {
        let pack = self.pack_for(departure, item)?;
        let Some(topic) = pack.topic(&item.topic) else {
            return Err(NoPack::TopicUnknown {
                topic: item.topic.to_string(),
            });
        };
        smallest_changes(&topic, &item_by(item, facts).facts).map_err(|refused| NoPack::Item {
            problem: refused.to_string(),
        })
    }

    /// The gate that an item's topic counts under. Without a pack: rules.
    pub fn gate_of(&self, departure: &Departure, item: &RegulatedItem) -> RuleGate {
        match self
            .pack_for(departure, item)
            .ok()
            .and_then(|pack| pack.topic(&item.topic))
        {
            Some(topic) => topic.topic().gate,
            None => RuleGate::Rules,
        }
    }

    fn pack_for(&self, departure: &Departure, item: &RegulatedItem) -> Result<&CheckedPack, NoPack> {
        let speaking = || {
            self.checked
                .iter()
                .map(|pack| &**pack)
                .filter(|pack| pack.topic(&item.topic).is_some())
        };
        let in_force = speaking().find(|pack| pack.pack().effective_date <= departure.departure_date);
        match (in_force.or_else(|| speaking().next()), self.faulty.first()) {
            (Some(pack), _) => Ok(pack),
            (None, Some((name, fault))) => Err(NoPack::Faulty {
                name: name.clone(),
                fault: fault.clone(),
            }),
            (None, None) if self.checked.is_empty() => Err(NoPack::NoneNamed),
            (None, None) => Err(NoPack::TopicUnknown {
                topic: item.topic.to_string(),
            }),
        }
    }
}
