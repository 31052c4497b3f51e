#![no_main]

#[path = "../properties.rs"]
mod properties;

libfuzzer_sys::fuzz_target!(|data: &[u8]| {
    if let Ok(text) = std::str::from_utf8(data) {
        properties::profile(text);
    }
});
