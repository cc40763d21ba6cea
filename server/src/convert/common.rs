//! Values used by several resources.

use ostler_core::record::{
    BoltCircle, Comparison, Fact, Hand, Interface, InterfaceValue, Mass, MassProvenance, Position,
    Requirement,
};
use ostler_proto::v1;

use super::{Converted, Within, id, missing};

pub(crate) fn position(message: v1::Position) -> Position {
    let v1::Position { x_mm, y_mm, z_mm } = message;
    Position { x_mm, y_mm, z_mm }
}

pub(crate) fn position_message(position: Position) -> v1::Position {
    let Position { x_mm, y_mm, z_mm } = position;
    v1::Position { x_mm, y_mm, z_mm }
}

pub(crate) fn mass(message: v1::Mass) -> Converted<Mass> {
    let v1::Mass {
        mass_kg,
        provenance,
        tolerance_kg,
    } = message;
    let provenance = match v1::MassProvenance::try_from(provenance) {
        Ok(v1::MassProvenance::Weighed) => MassProvenance::Weighed,
        Ok(v1::MassProvenance::Catalogue) => MassProvenance::Catalogue,
        Ok(v1::MassProvenance::Estimated) => MassProvenance::Estimated,
        Ok(v1::MassProvenance::Unspecified) | Err(_) => return Err(missing("provenance")),
    };
    Ok(Mass {
        mass_kg,
        provenance,
        tolerance_kg,
    })
}

pub(crate) fn optional_mass(field: &str, message: Option<v1::Mass>) -> Converted<Option<Mass>> {
    message.map(|message| mass(message).within(field)).transpose()
}

pub(crate) fn provenance_message(provenance: MassProvenance) -> v1::MassProvenance {
    match provenance {
        MassProvenance::Weighed => v1::MassProvenance::Weighed,
        MassProvenance::Catalogue => v1::MassProvenance::Catalogue,
        MassProvenance::Estimated => v1::MassProvenance::Estimated,
    }
}

pub(crate) fn hand(value: i32) -> Option<Hand> {
    match v1::Hand::try_from(value) {
        Ok(v1::Hand::Left) => Some(Hand::Left),
        Ok(v1::Hand::Right) => Some(Hand::Right),
        Ok(v1::Hand::Unspecified) | Err(_) => None,
    }
}

pub(crate) fn interface(message: v1::Interface) -> Converted<Interface> {
    use v1::interface::Value;
    let v1::Interface { kind, value } = message;
    let value = match value {
        None => None,
        Some(Value::Text(text)) => Some(InterfaceValue::Text(text)),
        Some(Value::Count(count)) => Some(InterfaceValue::Count(count)),
        Some(Value::LengthMm(length_mm)) => Some(InterfaceValue::LengthMm(length_mm)),
        Some(Value::Thread(thread)) => Some(InterfaceValue::Thread(thread)),
        Some(Value::Ratio(ratio)) => Some(InterfaceValue::Ratio(ratio)),
        Some(Value::Hand(value)) => hand(value).map(InterfaceValue::Hand),
        Some(Value::BoltCircle(message)) => Some(InterfaceValue::BoltCircle(bolt_circle(message)?)),
        Some(Value::Connector(connector)) => Some(InterfaceValue::Connector(connector)),
        Some(Value::Number(number)) => Some(InterfaceValue::Number(number)),
    };
    Ok(Interface {
        kind: id("kind", kind)?,
        value,
    })
}

fn bolt_circle(message: v1::BoltCircle) -> Converted<BoltCircle> {
    let v1::BoltCircle {
        count,
        circle_mm,
        thread,
    } = message;
    let count = u32::try_from(count).map_err(|_| missing("bolt_circle.count"))?;
    Ok(BoltCircle {
        count,
        circle_mm,
        thread,
    })
}

pub(crate) fn requirement(message: v1::Requirement) -> Converted<Requirement> {
    let v1::Requirement {
        interface: asked,
        comparison,
        tolerance,
        essential,
    } = message;
    let comparison = match v1::Comparison::try_from(comparison) {
        Ok(v1::Comparison::AtLeast) => Comparison::AtLeast,
        Ok(v1::Comparison::AtMost) => Comparison::AtMost,
        Ok(v1::Comparison::Equal | v1::Comparison::Unspecified) | Err(_) => Comparison::Equal,
    };
    let asked = asked.ok_or_else(|| missing("interface"))?;
    Ok(Requirement {
        interface: interface(asked).within("interface")?,
        comparison,
        tolerance,
        essential,
    })
}

/// A fact; `None` when it has no value, which is the same as not listing it.
pub(crate) fn fact(message: v1::Fact) -> Option<Fact> {
    let v1::Fact { value } = message;
    match value? {
        v1::fact::Value::Yes(yes) => Some(Fact::YesNo(yes)),
        v1::fact::Value::Number(number) => Some(Fact::Number(number)),
        v1::fact::Value::Text(text) => Some(Fact::Text(text)),
    }
}

/// Facts by id; those without a value are left out.
pub(crate) fn facts(
    field: &str,
    map: std::collections::BTreeMap<String, v1::Fact>,
) -> Converted<std::collections::BTreeMap<ostler_core::record::Id, Fact>> {
    let facts = super::by_id(field, map, |message| Ok(fact(message)))?;
    Ok(facts
        .into_iter()
        .filter_map(|(key, fact)| Some((key, fact?)))
        .collect())
}
