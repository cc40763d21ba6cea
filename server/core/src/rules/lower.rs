//! Checks the types of an expression against the declared facts and lowers it to a [`Formula`].
//!
//! The part of the Common Expression Language that a condition may use: `&&`, `||`, `!`, `?:` between
//! conditions, `==` and `!=`, `<`, `<=`, `>`, `>=` between numbers, `+`, `-`, `*`, `/` as long as no
//! fact is multiplied or divided by a fact, `in` a list, and `all` and `exists` over a list that is
//! written out. Numbers are all of one type, so `2` and `2.0` are the same.

use std::collections::BTreeMap;

use cel::common::ast::operators as operator;
use cel::common::ast::{CallExpr, Expr, IdedExpr, LiteralValue};

use super::fault::{ExpressionFault, nearest};
use super::formula::{FactIndex, Formula, Linear, Relation};
use super::source::{Parsed, parse};
use crate::record::{FactDeclaration, FactType};

/// Most elements of a list.
pub(super) const LIST_ELEMENTS_MAX: usize = 32;

/// Most loops one inside the other.
pub(super) const LOOP_DEPTH_MAX: usize = 2;

/// Most parts of a formula after its loops are written out.
const FORMULA_SIZE_MAX: usize = 4_000;

/// A typed piece of an expression.
#[derive(Debug, Clone)]
enum Operand {
    YesNo(Formula),
    Number(Linear),
    TextFact(FactIndex),
    Text(String),
    List(Vec<Operand>),
}

impl Operand {
    fn word(&self) -> &'static str {
        match self {
            Self::YesNo(_) => "a condition",
            Self::Number(_) => "a number",
            Self::TextFact(_) | Self::Text(_) => "a text",
            Self::List(_) => "a list",
        }
    }

    fn size(&self) -> usize {
        match self {
            Self::YesNo(formula) => formula.size(),
            Self::Number(linear) => 1 + linear.coefficients.len(),
            Self::TextFact(_) | Self::Text(_) => 1,
            Self::List(elements) => elements.iter().map(Self::size).sum(),
        }
    }
}

/// Parses, checks and lowers `source`.
pub(super) fn lower(source: &str, facts: &[FactDeclaration]) -> Result<Formula, Vec<ExpressionFault>> {
    let parsed = parse(source)?;
    let mut lowering = Lowering {
        parsed: &parsed,
        facts,
        bound: BTreeMap::new(),
        loops: 0,
        size: 0,
        faults: Vec::new(),
    };
    let operand = lowering.operand(&parsed.expression);
    let formula = operand.and_then(|operand| lowering.condition(parsed.expression.id, operand));
    match formula {
        Some(formula) if lowering.faults.is_empty() => Ok(formula),
        _ => {
            lowering.faults.dedup();
            Err(lowering.faults)
        }
    }
}

struct Lowering<'pack> {
    parsed: &'pack Parsed,
    facts: &'pack [FactDeclaration],
    bound: BTreeMap<String, Operand>,
    loops: usize,
    size: usize,
    faults: Vec<ExpressionFault>,
}

impl Lowering<'_> {
    fn refuse<T>(&mut self, id: u64, problem: impl Into<String>) -> Option<T> {
        let fault = ExpressionFault {
            position: self.parsed.position(id),
            problem: problem.into(),
        };
        if self.faults.len() < 50 {
            self.faults.push(fault);
        }
        None
    }

    fn condition(&mut self, id: u64, operand: Operand) -> Option<Formula> {
        match operand {
            Operand::YesNo(formula) => Some(formula),
            other => self.refuse(id, format!("must be a condition, is {}", other.word())),
        }
    }

    fn number(&mut self, id: u64, operand: Operand) -> Option<Linear> {
        match operand {
            Operand::Number(linear) => Some(linear),
            other => self.refuse(id, format!("must be a number, is {}", other.word())),
        }
    }

    /// Counts `parts` more parts; refuses, once, when they become too many.
    fn grow(&mut self, id: u64, parts: usize) -> Option<()> {
        let before = self.size;
        self.size = before.saturating_add(parts);
        if self.size <= FORMULA_SIZE_MAX {
            return Some(());
        }
        if before > FORMULA_SIZE_MAX {
            return None;
        }
        self.refuse(
            id,
            format!("has more than {FORMULA_SIZE_MAX} parts when its loops and choices are written out"),
        )
    }

    fn operand(&mut self, node: &IdedExpr) -> Option<Operand> {
        self.grow(node.id, 1)?;
        match &node.expr {
            Expr::Literal(literal) => self.literal(node.id, literal),
            Expr::Ident(name) => self.name(node.id, name),
            Expr::List(list) => {
                if list.elements.len() > LIST_ELEMENTS_MAX {
                    return self.refuse(
                        node.id,
                        format!(
                            "has {} elements, at most {LIST_ELEMENTS_MAX} are allowed",
                            list.elements.len()
                        ),
                    );
                }
                let elements: Vec<_> = list
                    .elements
                    .iter()
                    .map(|element| self.operand(element))
                    .collect();
                elements
                    .into_iter()
                    .collect::<Option<Vec<_>>>()
                    .map(Operand::List)
            }
            Expr::Call(call) => self.call(node.id, call),
            Expr::Select(_) => self.refuse(node.id, "has a field; facts have no fields"),
            Expr::Map(_) | Expr::Struct(_) => self.refuse(node.id, "is a map; maps are not supported"),
            Expr::Comprehension(_) | Expr::Unspecified => self.refuse(node.id, "is not supported"),
        }
    }

    fn literal(&mut self, id: u64, literal: &LiteralValue) -> Option<Operand> {
        match literal {
            LiteralValue::Boolean(value) => Some(Operand::YesNo(Formula::Constant(*value.inner()))),
            // Exact up to 2^53, beyond every number a rule compares with.
            LiteralValue::Int(value) => Some(Operand::Number(Linear::constant(*value.inner() as f64))),
            LiteralValue::UInt(value) => Some(Operand::Number(Linear::constant(*value.inner() as f64))),
            LiteralValue::Double(value) if value.inner().is_finite() => {
                Some(Operand::Number(Linear::constant(*value.inner())))
            }
            LiteralValue::Double(_) => self.refuse(id, "is not a finite number"),
            LiteralValue::String(value) => Some(Operand::Text(value.inner().to_owned())),
            LiteralValue::Null | LiteralValue::Bytes(_) => {
                self.refuse(id, "is neither a number, a text, `true` nor `false`")
            }
        }
    }

    fn name(&mut self, id: u64, name: &str) -> Option<Operand> {
        if let Some(operand) = self.bound.get(name).cloned() {
            self.grow(id, operand.size())?;
            return Some(operand);
        }
        let Some(index) = self.facts.iter().position(|fact| &*fact.id == name) else {
            let hint = nearest(name, self.facts.iter().map(|fact| &*fact.id))
                .map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
            return self.refuse(id, format!("uses `{name}`, which is not a declared fact{hint}"));
        };
        Some(match self.facts[index].fact_type {
            FactType::YesNo => Operand::YesNo(Formula::YesNo(index)),
            FactType::Number => Operand::Number(Linear::fact(index)),
            FactType::Text => Operand::TextFact(index),
        })
    }

    fn call(&mut self, id: u64, call: &CallExpr) -> Option<Operand> {
        let function = call.func_name.as_str();
        match (&call.target, call.args.as_slice()) {
            (Some(list), [variable, body]) if matches!(function, operator::ALL | operator::EXISTS) => {
                self.looped(id, function == operator::ALL, list, variable, body)
            }
            (None, [only]) if function == operator::LOGICAL_NOT => {
                let operand = self.operand(only)?;
                self.condition(only.id, operand)
                    .map(|formula| Operand::YesNo(formula.negate()))
            }
            (None, [only]) if function == operator::NEGATE => {
                let operand = self.operand(only)?;
                self.number(only.id, operand)
                    .map(|linear| Operand::Number(linear.scaled(-1.0)))
            }
            (None, [test, yes, no]) if function == operator::CONDITIONAL => self.choice(id, [test, yes, no]),
            (None, [left, right]) => {
                let (left_operand, right_operand) = (self.operand(left), self.operand(right));
                self.binary(id, function, (left.id, left_operand?), (right.id, right_operand?))
            }
            _ => self.unsupported(id, function),
        }
    }

    fn unsupported<T>(&mut self, id: u64, function: &str) -> Option<T> {
        self.refuse(
            id,
            format!("uses `{}`, which is not supported", function.replace('_', "")),
        )
    }

    fn choice(&mut self, id: u64, nodes: [&IdedExpr; 3]) -> Option<Operand> {
        let [test, yes, no] = nodes.map(|node| {
            let operand = self.operand(node);
            operand.and_then(|operand| self.condition(node.id, operand))
        });
        let (test, yes, no) = (test?, yes?, no?);
        self.grow(id, test.size())?;
        Some(Operand::YesNo(Formula::any(vec![
            Formula::all(vec![test.clone(), yes]),
            Formula::all(vec![test.negate(), no]),
        ])))
    }

    fn looped(
        &mut self,
        id: u64,
        every: bool,
        list: &IdedExpr,
        variable: &IdedExpr,
        body: &IdedExpr,
    ) -> Option<Operand> {
        if self.loops == LOOP_DEPTH_MAX {
            return self.refuse(id, format!("nests more than {LOOP_DEPTH_MAX} loops"));
        }
        let elements = match self.operand(list)? {
            Operand::List(elements) => elements,
            other => return self.refuse(list.id, format!("must be a list, is {}", other.word())),
        };
        let Expr::Ident(name) = &variable.expr else {
            return self.refuse(variable.id, "must be the name of the loop's variable");
        };
        if self.facts.iter().any(|fact| &*fact.id == name.as_str()) || self.bound.contains_key(name) {
            return self.refuse(variable.id, format!("`{name}` already means something else"));
        }
        self.loops += 1;
        let mut parts = Vec::with_capacity(elements.len());
        for element in elements {
            self.bound.insert(name.clone(), element);
            let operand = self.operand(body);
            parts.push(operand.and_then(|operand| self.condition(body.id, operand)));
        }
        self.bound.remove(name);
        self.loops -= 1;
        let parts = parts.into_iter().collect::<Option<Vec<_>>>()?;
        Some(Operand::YesNo(if every {
            Formula::all(parts)
        } else {
            Formula::any(parts)
        }))
    }

    fn binary(
        &mut self,
        id: u64,
        function: &str,
        (left_id, left): (u64, Operand),
        (right_id, right): (u64, Operand),
    ) -> Option<Operand> {
        let relation = match function {
            operator::LESS => Some(Relation::Less),
            operator::LESS_EQUALS => Some(Relation::AtMost),
            operator::GREATER => Some(Relation::Greater),
            operator::GREATER_EQUALS => Some(Relation::AtLeast),
            _ => None,
        };
        match function {
            _ if relation.is_some() => {
                let (left, right) = (self.number(left_id, left), self.number(right_id, right));
                self.compared(id, left?, relation?, right?)
            }
            operator::LOGICAL_AND | operator::LOGICAL_OR => {
                let (left, right) = (self.condition(left_id, left), self.condition(right_id, right));
                let parts = vec![left?, right?];
                Some(Operand::YesNo(if function == operator::LOGICAL_AND {
                    Formula::all(parts)
                } else {
                    Formula::any(parts)
                }))
            }
            operator::EQUALS => self.equal(id, left, right).map(Operand::YesNo),
            operator::NOT_EQUALS => self
                .equal(id, left, right)
                .map(|formula| Operand::YesNo(formula.negate())),
            operator::IN => match right {
                Operand::List(elements) => {
                    self.grow(id, left.size() * elements.len())?;
                    let parts: Vec<_> = elements
                        .into_iter()
                        .map(|element| self.equal(id, left.clone(), element))
                        .collect();
                    parts
                        .into_iter()
                        .collect::<Option<Vec<_>>>()
                        .map(|parts| Operand::YesNo(Formula::any(parts)))
                }
                other => self.refuse(right_id, format!("must be a list, is {}", other.word())),
            },
            operator::ADD | operator::SUBSTRACT | operator::MULTIPLY | operator::DIVIDE => {
                let (left, right) = (self.number(left_id, left), self.number(right_id, right));
                self.arithmetic(id, function, left?, right?)
            }
            _ => self.unsupported(id, function),
        }
    }

    fn compared(&mut self, id: u64, left: Linear, relation: Relation, right: Linear) -> Option<Operand> {
        match Formula::compare(left, relation, right) {
            Formula::Compare(sum, relation, threshold) if sum.is_finite() && threshold.is_finite() => {
                Some(Operand::YesNo(Formula::Compare(sum, relation, threshold)))
            }
            Formula::Constant(value) => Some(Operand::YesNo(Formula::Constant(value))),
            _ => self.refuse(id, "compares numbers that are out of range"),
        }
    }

    fn equal(&mut self, id: u64, left: Operand, right: Operand) -> Option<Formula> {
        match (left, right) {
            (Operand::YesNo(left), Operand::YesNo(right)) => Some(Formula::same(left, right)),
            (Operand::Number(left), Operand::Number(right)) => {
                match self.compared(id, left, Relation::Equal, right)? {
                    Operand::YesNo(formula) => Some(formula),
                    _ => None,
                }
            }
            (Operand::TextFact(fact), Operand::Text(text))
            | (Operand::Text(text), Operand::TextFact(fact)) => Some(Formula::TextIn(fact, vec![text])),
            (Operand::Text(left), Operand::Text(right)) => Some(Formula::Constant(left == right)),
            (Operand::TextFact(_), Operand::TextFact(_)) => {
                self.refuse(id, "compares two text facts; compare each with a text in quotes")
            }
            (left, right) => self.refuse(id, format!("compares {} with {}", left.word(), right.word())),
        }
    }

    fn arithmetic(&mut self, id: u64, function: &str, left: Linear, right: Linear) -> Option<Operand> {
        let result = match function {
            operator::ADD => left.plus(right),
            operator::SUBSTRACT => left.plus(right.scaled(-1.0)),
            operator::MULTIPLY if left.coefficients.is_empty() => right.scaled(left.constant),
            operator::MULTIPLY if right.coefficients.is_empty() => left.scaled(right.constant),
            operator::DIVIDE if right.coefficients.is_empty() && right.constant != 0.0 => {
                left.divided(right.constant)
            }
            operator::DIVIDE if right.coefficients.is_empty() => {
                return self.refuse(id, "divides by 0");
            }
            _ => {
                return self.refuse(
                    id,
                    "multiplies or divides a fact by a fact; compare them another way",
                );
            }
        };
        if result.is_finite() {
            Some(Operand::Number(result))
        } else {
            self.refuse(id, "computes a number that is out of range")
        }
    }
}
