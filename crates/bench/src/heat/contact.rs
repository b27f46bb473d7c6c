//! The contact of a part that heat moves, with the part's faults.

use super::body::HeatContact;
use crate::fault::FaultSet;
use crate::unit::Unit;
use crate::wiring::fault_size;

/// The contact that heat moves in a part with these faults in the unit; none if it is welded, since it stays closed.
pub fn contact_of(unit: &Unit, faults: &FaultSet, deviations: &[f64], part: usize) -> Option<HeatContact> {
    let size = |name: &str| fault_size(unit, faults, deviations, part, name);
    let is_welded = size("welded").or_else(|| size("overload-welded")).is_some();
    unit.parts()[part].kind.heat_contact(&size).filter(|_| !is_welded)
}
