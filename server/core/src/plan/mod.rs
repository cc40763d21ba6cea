//! The build plan: jobs on bays and people, critical path, schedule, chance of being ready.
