//! Which topics of evidence work on a vehicle touches.

use crate::record::VehicleSystem;

/// A loaded drive that shows whether what was done holds.
pub const SHAKEDOWN: &str = "shakedown";

/// Wheel alignment.
pub const ALIGNMENT: &str = "alignment";

/// Weighing, axle by axle.
pub const WEIGHING: &str = "weighing";

/// Test of service and parking brakes.
pub const BRAKE_TEST: &str = "brake_test";

/// Leak test of tanks and lines.
pub const LEAK_TEST: &str = "leak_test";

/// Topics of evidence that work on a system touches: common practice, no source. Weighing is touched by
/// mass, not by a system.
pub fn topics_touched(system: VehicleSystem) -> &'static [&'static str] {
    match system {
        VehicleSystem::Engine | VehicleSystem::Driveline => &[SHAKEDOWN],
        VehicleSystem::Suspension | VehicleSystem::Wheels => &[SHAKEDOWN, ALIGNMENT],
        VehicleSystem::Brakes => &[SHAKEDOWN, BRAKE_TEST],
        VehicleSystem::Fuel => &[LEAK_TEST],
        VehicleSystem::Electrical | VehicleSystem::Body => &[],
    }
}
