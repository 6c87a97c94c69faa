//! The `dialwright` command: see [`dialwright::cli`].

use std::process::ExitCode;

fn main() -> ExitCode {
    dialwright::cli::run()
}
