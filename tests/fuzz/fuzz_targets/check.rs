#![no_main]

#[path = "../targets.rs"]
mod targets;

libfuzzer_sys::fuzz_target!(init: targets::leave_caught_panics(), |bytes: &[u8]| targets::check(bytes));
