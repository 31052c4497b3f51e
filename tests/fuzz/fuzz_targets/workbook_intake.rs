#![no_main]

#[path = "../properties.rs"]
mod properties;

libfuzzer_sys::fuzz_target!(|data: &[u8]| {
    properties::intake("schedule.xlsx", data);
});
