//! Handed parts on the wrong side, found from the parts record alone.

use super::vehicle::Side;

/// Version of this comparison. It changes when a finding may change for the same record.
pub const FORMULA_VERSION: &str = "handed_parts/1";

/// The hand of a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hand {
    /// Belongs on one side.
    Handed(Side),
    /// Serves either side.
    Either,
    /// The catalogue does not say.
    NotKnown,
}

/// A part in a slot that has a side.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SidedFitment {
    /// The slot without its side: `spring.rear`. Two fitments of one place face each other.
    pub place: String,
    /// The side of the slot.
    pub side: Side,
    /// Number and variant of the part in it.
    pub part: String,
    /// The hand of that part.
    pub hand: Hand,
}

/// What the record says about the sides.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SideFindings {
    /// Parts on the wrong side, in the order given.
    pub wrong_side: Vec<WrongSide>,
    /// Fitments whose part's hand is not known (indexes into the input): no verdict on these.
    pub hand_not_known: Vec<usize>,
}

/// A part on the wrong side.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WrongSide {
    /// Index into the input.
    pub fitment: usize,
    /// The fitment across that is on the wrong side as well (index into the input): exchanging the two cures both.
    pub exchange_with: Option<usize>,
    /// For a person to read.
    pub explanation: String,
}

/// Compares the hand of each part with the side of its slot.
pub fn parts_on_wrong_side(fitments: &[SidedFitment]) -> SideFindings {
    let is_wrong = |fitment: &SidedFitment| fitment.hand == Hand::Handed(fitment.side.other());
    let mut findings = SideFindings {
        wrong_side: Vec::new(),
        hand_not_known: Vec::new(),
    };
    // First fitment on the wrong side for each place and side, so that long lists stay fast.
    let mut wrong_by_slot = std::collections::HashMap::new();
    for (index, fitment) in fitments
        .iter()
        .enumerate()
        .filter(|(_, fitment)| is_wrong(fitment))
    {
        wrong_by_slot
            .entry((fitment.place.as_str(), fitment.side))
            .or_insert(index);
    }
    for (index, fitment) in fitments.iter().enumerate() {
        if fitment.hand == Hand::NotKnown {
            findings.hand_not_known.push(index);
        }
        if !is_wrong(fitment) {
            continue;
        }
        let exchange_with = wrong_by_slot
            .get(&(fitment.place.as_str(), fitment.side.other()))
            .copied();
        let cure = match exchange_with {
            Some(other) => format!(
                "; exchange with {}, which is on the wrong side too",
                fitments[other].part
            ),
            None => String::new(),
        };
        findings.wrong_side.push(WrongSide {
            fitment: index,
            exchange_with,
            explanation: format!(
                "{} belongs on the {} and is recorded on the {} of {}{cure}",
                fitment.part,
                fitment.side.other().words(),
                fitment.side.words(),
                fitment.place
            ),
        });
    }
    findings
}
