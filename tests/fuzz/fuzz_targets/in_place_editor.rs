#![no_main]

#[path = "../properties.rs"]
mod properties;

libfuzzer_sys::fuzz_target!(|data: &[u8]| {
    // Whatever a package holds: it is edited, or refused, or no schedule.
    if data.starts_with(b"PK") {
        properties::road(data, true);
    }
});
