//! Load restraint standards as data: factors, rules of friction, source and scope.

/// Where an item is pushed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Direction {
    /// Forward, under braking.
    Forward,
    /// Rearward, when pulling away or climbing.
    Rearward,
    /// To the left.
    Left,
    /// To the right.
    Right,
    /// Upward, over bumps.
    Upward,
}

impl Direction {
    /// All directions.
    pub const ALL: [Self; 5] = [
        Self::Forward,
        Self::Rearward,
        Self::Left,
        Self::Right,
        Self::Upward,
    ];

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Forward => "forward",
            Self::Rearward => "rearward",
            Self::Left => "to the left",
            Self::Right => "to the right",
            Self::Upward => "upward",
        }
    }
}

/// Restraint asked for in each direction, as fractions of the item's weight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Factors {
    /// Forward.
    pub forward: f64,
    /// Rearward.
    pub rearward: f64,
    /// To either side.
    pub sideways: f64,
    /// Upward.
    pub upward: f64,
}

impl Factors {
    /// The fraction in one direction.
    pub fn in_direction(&self, direction: Direction) -> f64 {
        match direction {
            Direction::Forward => self.forward,
            Direction::Rearward => self.rearward,
            Direction::Left | Direction::Right => self.sideways,
            Direction::Upward => self.upward,
        }
    }
}

/// Which rating of a lashing a criterion is held against.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Strength {
    /// Lashing capacity, LC.
    LashingCapacity,
    /// Working load limit, WLL.
    WorkingLoadLimit,
    /// Breaking strength.
    BreakingStrength,
}

/// One set of factors and the rating against which it is held.
#[derive(Debug, Clone, PartialEq)]
pub struct Criterion {
    /// Its name, for the result.
    pub name: String,
    /// Factors.
    pub factors: Factors,
    /// Rating.
    pub strength: Strength,
}

/// When the upward factor asks for something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UpwardRule {
    /// Only when some direction relies on friction.
    WhenRelyingOnFriction,
    /// Unless the item is fully contained by the vehicle's structure.
    UnlessFullyContained,
}

/// Which tension of a tie-down counts for friction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TensionRule {
    /// The tension stated or measured.
    Stated,
    /// The tension stated, at most half the lashing capacity; half the lashing capacity if none is stated.
    AtMostHalfLashingCapacity,
}

/// How a standard lets friction count.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrictionRules {
    /// Part of the weight that presses the item down while the force acts.
    pub weight_fraction: f64,
    /// Safety factor on tie-downs forward.
    pub tie_down_safety_forward: f64,
    /// Safety factor on tie-downs in the other directions.
    pub tie_down_safety_otherwise: f64,
    /// Part of the friction that counts beside direct lashings and blocking.
    pub fraction_beside_direct: f64,
    /// Which tension counts.
    pub tension: TensionRule,
}

impl FrictionRules {
    /// Safety factor on tie-downs in one direction.
    pub fn tie_down_safety(&self, direction: Direction) -> f64 {
        match direction {
            Direction::Forward => self.tie_down_safety_forward,
            _ => self.tie_down_safety_otherwise,
        }
    }
}

/// A limit of what a standard covers.
#[derive(Debug, Clone, PartialEq)]
pub struct ScopeLimit {
    /// The limit in words.
    pub text: String,
    /// The standard covers vehicles of a gross mass above this only, kg.
    pub gross_mass_above_kg: Option<f64>,
}

/// A load restraint standard.
#[derive(Debug, Clone, PartialEq)]
pub struct Standard {
    /// Short stable name: `en-12195-1-2010`.
    pub id: String,
    /// Title and edition.
    pub title: String,
    /// Where the figures come from and how they were seen.
    pub source: String,
    /// What it covers and does not.
    pub scope: Vec<ScopeLimit>,
    /// Every criterion must be met.
    pub criteria: Vec<Criterion>,
    /// When the upward factor counts.
    pub upward: UpwardRule,
    /// Friction.
    pub friction: FrictionRules,
    /// Working load limits of all tie-downs together, as a fraction of the weight, if the standard asks
    /// for it.
    pub aggregate_fraction: Option<f64>,
}

fn limit(text: &str) -> ScopeLimit {
    ScopeLimit {
        text: text.to_owned(),
        gross_mass_above_kg: None,
    }
}

fn criterion(name: &str, strength: Strength, factors: [f64; 4]) -> Criterion {
    let [forward, rearward, sideways, upward] = factors;
    Criterion {
        name: name.to_owned(),
        factors: Factors {
            forward,
            rearward,
            sideways,
            upward,
        },
        strength,
    }
}

impl Standard {
    /// The standards known here.
    pub fn all() -> Vec<Self> {
        vec![
            Self::australian_guide_2018(),
            Self::en_12195_1_2010(),
            Self::us_49_cfr_393(),
        ]
    }

    /// Australia, National Transport Commission, Load Restraint Guide 2018: 0.8 forward, 0.5 sideways and
    /// rearward, 0.2 upward where friction is relied on.
    pub fn australian_guide_2018() -> Self {
        Self {
            id: "au-load-restraint-guide-2018".to_owned(),
            title: "Load Restraint Guide 2018, National Transport Commission, Australia".to_owned(),
            source: "Factors read in secondary copies (an article of 2010 and a training page based on the guide); \
                     the upward rule read in the heavy-vehicle regulator's guidance; the guide's own tables were not \
                     seen. Friction by own derivation: clamp / weight = c / mu - 0.8."
                .to_owned(),
            scope: vec![
                limit("Performance standard for loads on road vehicles; rollover is not covered (read)."),
                limit("The 0.2 upward applies only where friction is relied on (read)."),
                limit("Whether off-road shocks are covered was not found: treat the factors as road factors."),
            ],
            criteria: vec![criterion("performance", Strength::LashingCapacity, [0.8, 0.5, 0.5, 0.2])],
            upward: UpwardRule::WhenRelyingOnFriction,
            friction: FrictionRules {
                weight_fraction: 0.8,
                tie_down_safety_forward: 1.0,
                tie_down_safety_otherwise: 1.0,
                fraction_beside_direct: 1.0,
                tension: TensionRule::Stated,
            },
            aggregate_fraction: None,
        }
    }

    /// EN 12195-1:2010: 0.8 forward, 0.5 to the sides and rearward (sliding). Not for vehicles of 3.5 t or
    /// less, which is most four-wheel-drive vehicles.
    pub fn en_12195_1_2010() -> Self {
        Self {
            id: "en-12195-1-2010".to_owned(),
            title: "EN 12195-1:2010, Load restraining on road vehicles, Part 1: Calculation of securing forces".to_owned(),
            source: "Scope read in the catalogue's abstract; k = 2, one friction factor, tension of STF or half of LC \
                     read in a road transport union's slides; the formula with its factors 1.25 and 1.1 and the \
                     0.75 on friction beside direct lashings from memory, not verified against the standard's text."
                .to_owned(),
            scope: vec![
                ScopeLimit {
                    text: "Does not apply to vehicles with a total weight of 3,500 kg or less: lighter vehicles may \
                           see higher accelerations (read)."
                        .to_owned(),
                    gross_mass_above_kg: Some(3_500.0),
                },
                limit("Sliding only is computed here; tipping (0.6 sideways) is not."),
            ],
            criteria: vec![criterion("securing forces", Strength::LashingCapacity, [0.8, 0.5, 0.5, 0.0])],
            upward: UpwardRule::UnlessFullyContained,
            friction: FrictionRules {
                weight_fraction: 1.0,
                tie_down_safety_forward: 1.25,
                tie_down_safety_otherwise: 1.1,
                fraction_beside_direct: 0.75,
                tension: TensionRule::AtMostHalfLashingCapacity,
            },
            aggregate_fraction: None,
        }
    }

    /// United States, 49 CFR 393.102 and 393.106: breaking strength at 0.8, 0.5, 0.5; working load limit at
    /// 0.435, 0.5, 0.25; 20 per cent downward unless fully contained; aggregate working load limit at least
    /// half of the weight.
    pub fn us_49_cfr_393() -> Self {
        Self {
            id: "us-49-cfr-393".to_owned(),
            title: "49 CFR 393.102, 393.106 and 393.110, United States".to_owned(),
            source: "393.102 read in the rule text; 393.106(d) read in the agency's guidance; 393.108 and 393.110 read \
                     in a secondary copy. That friction counts with the full weight is an own engineering statement."
                .to_owned(),
            scope: vec![
                limit("Applies to commercial vehicles (secondary copy, read)."),
                limit("The directions are applied separately (read)."),
            ],
            criteria: vec![
                criterion("breaking strength", Strength::BreakingStrength, [0.8, 0.5, 0.5, 0.2]),
                criterion("working load limit", Strength::WorkingLoadLimit, [0.435, 0.5, 0.25, 0.2]),
            ],
            upward: UpwardRule::UnlessFullyContained,
            friction: FrictionRules {
                weight_fraction: 1.0,
                tie_down_safety_forward: 1.0,
                tie_down_safety_otherwise: 1.0,
                fraction_beside_direct: 1.0,
                tension: TensionRule::Stated,
            },
            aggregate_fraction: Some(0.5),
        }
    }

    /// A departure's own factors, held against the lashing capacity with the friction rules of the
    /// Australian guide; upward unless the thing is fully contained.
    pub fn policy(factors: Factors, source: &str) -> Self {
        Self {
            id: "policy".to_owned(),
            title: "Factors of the departure's policy".to_owned(),
            source: source.to_owned(),
            scope: vec![limit("A policy of its users, not a standard.")],
            criteria: vec![Criterion {
                name: "policy".to_owned(),
                factors,
                strength: Strength::LashingCapacity,
            }],
            upward: UpwardRule::UnlessFullyContained,
            ..Self::australian_guide_2018()
        }
    }
}
