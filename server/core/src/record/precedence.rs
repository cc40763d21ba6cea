//! Which jobs would come after themselves.

use std::collections::BTreeMap;

use petgraph::algo::kosaraju_scc;
use petgraph::graph::DiGraph;

use super::Name;

/// Most jobs of a circle that are named.
const NAMED_MAX: usize = 12;

/// The circles among the jobs of a fleet.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Circles {
    jobs: BTreeMap<Name, String>,
}

impl Circles {
    /// The circles among `after`: for each job the jobs that must be done before it. Names that are no
    /// keys are passed over.
    pub fn of(after: &BTreeMap<Name, Vec<Name>>) -> Self {
        let mut graph = DiGraph::<&Name, ()>::with_capacity(after.len(), 0);
        let nodes: BTreeMap<&Name, _> = after.keys().map(|name| (name, graph.add_node(name))).collect();
        for (job, before) in after {
            for before in before {
                if let (Some(&from), Some(&to)) = (nodes.get(before), nodes.get(job)) {
                    graph.add_edge(from, to, ());
                }
            }
        }
        let mut jobs = BTreeMap::new();
        for component in kosaraju_scc(&graph) {
            let alone = component.len() == 1 && graph.find_edge(component[0], component[0]).is_none();
            if alone {
                continue;
            }
            let mut names: Vec<&Name> = component.iter().map(|&node| graph[node]).collect();
            names.sort();
            let ids: Vec<&str> = names.iter().take(NAMED_MAX).map(|name| name.id()).collect();
            let more = if names.len() > NAMED_MAX { " and more" } else { "" };
            let circle = format!("{}{more}", ids.join(", "));
            jobs.extend(names.into_iter().map(|name| (name.clone(), circle.clone())));
        }
        Self { jobs }
    }

    /// The ids of the jobs that `job` stands in a circle with, itself among them. `None`: it does not come after itself.
    pub fn around(&self, job: &Name) -> Option<&str> {
        self.jobs.get(job).map(String::as_str)
    }
}
