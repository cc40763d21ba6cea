//! Prints cover of spares as plain text, one `lambda stock cover ebo` a line, for comparison with other
//! software: `cargo run -p ostler-core --example spares_table | python3 tests/python/check_spares.py`.

use ostler_core::check::InvalidInput;
use ostler_core::spares::cover::cover;

fn main() -> Result<(), InvalidInput> {
    for mean in [
        0.01, 0.1, 0.5, 1.0, 2.0, 3.0, 7.5, 20.0, 50.0, 120.0, 333.3, 500.0,
    ] {
        let far = (mean + 12.0 * f64::sqrt(mean) + 12.0) as u32;
        for stock in (0..=far).step_by((far as usize / 40).max(1)) {
            let found = cover(mean, stock)?;
            println!(
                "{mean:e} {stock} {:.17e} {:.17e}",
                found.no_stock_out, found.expected_backorders
            );
        }
    }
    Ok(())
}
