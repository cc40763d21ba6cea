//! Rule packs.

use ostler_core::record::{
    Demand, DemandKind, FactDeclaration, FactType, Name, RecordFigure, RuleCategory, RuleGate, RulePack,
    RuleSource, RuleTopic,
};
use ostler_proto::v1;

use super::{Converted, date, each, id, missing};

pub(crate) fn rule_pack(name: Name, message: v1::RulePack) -> Converted<RulePack> {
    let v1::RulePack {
        name: _,
        etag: _,
        create_time: _,
        update_time: _,
        display_name,
        jurisdiction,
        version,
        effective_date,
        facts,
        topics,
        caution,
    } = message;
    Ok(RulePack {
        name,
        display_name,
        jurisdiction,
        version,
        effective_date: date("effective_date", &effective_date)?,
        facts: each("facts", facts, fact_declaration)?,
        topics: each("topics", topics, topic)?,
        caution,
    })
}

fn fact_declaration(message: v1::FactDeclaration) -> Converted<FactDeclaration> {
    let v1::FactDeclaration {
        id: fact,
        r#type,
        question,
        from_record,
    } = message;
    let fact_type = match v1::FactType::try_from(r#type) {
        Ok(v1::FactType::YesNo) => FactType::YesNo,
        Ok(v1::FactType::Number) => FactType::Number,
        Ok(v1::FactType::Text) => FactType::Text,
        Ok(v1::FactType::Unspecified) | Err(_) => return Err(missing("type")),
    };
    Ok(FactDeclaration {
        id: id("id", fact)?,
        fact_type,
        question,
        from_record: v1::RecordFigure::try_from(from_record)
            .ok()
            .and_then(record_figure),
    })
}

fn record_figure(figure: v1::RecordFigure) -> Option<RecordFigure> {
    Some(match figure {
        v1::RecordFigure::Unspecified => return None,
        v1::RecordFigure::TyreDiameterIncreaseMm => RecordFigure::TyreDiameterIncreaseMm,
        v1::RecordFigure::TyreDiameterIncreasePercent => RecordFigure::TyreDiameterIncreasePercent,
        v1::RecordFigure::TyreWidthRatio => RecordFigure::TyreWidthRatio,
        v1::RecordFigure::SuspensionLiftMm => RecordFigure::SuspensionLiftMm,
        v1::RecordFigure::LiftMm => RecordFigure::LiftMm,
        v1::RecordFigure::RoofTotalKg => RecordFigure::RoofTotalKg,
        v1::RecordFigure::RoofLimitKg => RecordFigure::RoofLimitKg,
        v1::RecordFigure::RackLoadKg => RecordFigure::RackLoadKg,
        v1::RecordFigure::RackRatingKg => RecordFigure::RackRatingKg,
        v1::RecordFigure::TotalMassKg => RecordFigure::TotalMassKg,
        v1::RecordFigure::GrossMassKg => RecordFigure::GrossMassKg,
        v1::RecordFigure::OriginalGrossMassKg => RecordFigure::OriginalGrossMassKg,
        v1::RecordFigure::SeatsRemoved => RecordFigure::SeatsRemoved,
        v1::RecordFigure::PackagedPetrolL => RecordFigure::PackagedPetrolL,
        v1::RecordFigure::PackagedDieselL => RecordFigure::PackagedDieselL,
    })
}

fn topic(message: v1::RuleTopic) -> Converted<RuleTopic> {
    let v1::RuleTopic {
        id: topic_id,
        display_name,
        gate,
        categories,
    } = message;
    let gate = match v1::RuleGate::try_from(gate) {
        Ok(v1::RuleGate::Papers) => RuleGate::Papers,
        Ok(v1::RuleGate::Rules | v1::RuleGate::Unspecified) | Err(_) => RuleGate::Rules,
    };
    Ok(RuleTopic {
        id: id("id", topic_id)?,
        display_name,
        gate,
        categories: each("categories", categories, category)?,
    })
}

fn category(message: v1::RuleCategory) -> Converted<RuleCategory> {
    let v1::RuleCategory {
        id: category_id,
        display_name,
        when,
        demands,
        source,
    } = message;
    let v1::RuleSource { text, seen } = source.ok_or_else(|| missing("source"))?;
    Ok(RuleCategory {
        id: id("id", category_id)?,
        display_name,
        when,
        demands: each("demands", demands, demand)?,
        source: RuleSource { text, seen },
    })
}

fn demand(message: v1::Demand) -> Converted<Demand> {
    let v1::Demand {
        id: demand_id,
        display_name,
        kind,
        carried,
        max_age_days,
        valid_until_return,
    } = message;
    let kind = match v1::DemandKind::try_from(kind) {
        Ok(v1::DemandKind::Evidence) => DemandKind::Evidence,
        Ok(v1::DemandKind::NotAllowed) => DemandKind::NotAllowed,
        Ok(v1::DemandKind::Unspecified) | Err(_) => return Err(missing("kind")),
    };
    let max_age_days = max_age_days
        .map(u32::try_from)
        .transpose()
        .map_err(|_| missing("max_age_days"))?;
    Ok(Demand {
        id: id("id", demand_id)?,
        display_name,
        kind,
        carried,
        max_age_days,
        valid_until_return,
    })
}
