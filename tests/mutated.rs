//! The properties of `fuzz/properties.rs` on schedules that were damaged by
//! chance, for a toolchain that has no fuzzer.
//!
//! The seed is fixed, so that a fault comes again. For long:
//! `cargo run --release --features bench --bin bench -- damage 1200 7`.

#[path = "fuzz/damage.rs"]
mod damage;
#[path = "bench/generate.rs"]
mod generate;

#[test]
fn schedules_damaged_by_chance_never_panic() {
    let tried = damage::look(6.0, 0x2545_F491_4F6C_DD1D);
    assert!(tried.texts > 5 && tried.packages > 0, "{tried:?}");
}
