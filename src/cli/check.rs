//! `check`: all findings, nothing written.

use clap::Args;

use super::{DesignArguments, FINE, MessageFormat, mend, report};
use crate::analyse::Analysis;

#[derive(Debug, Args)]
pub(super) struct CheckArguments {
    #[command(flatten)]
    design: DesignArguments,
    /// Applies every mend that is certain to the files, then checks again
    #[arg(long)]
    mend: bool,
}

pub(super) fn run(arguments: &CheckArguments) -> u8 {
    checked(arguments).unwrap_or_else(|code| code)
}

fn checked(arguments: &CheckArguments) -> Result<u8, u8> {
    let format = arguments.design.message_format;
    let mut analysis = report::analysed(&arguments.design)?;
    if arguments.mend {
        let mended =
            mend::apply(&analysis, &arguments.design.file).map_err(|sentence| report::fail(&sentence, format))?;
        if mended > 0 {
            analysis = report::analysed(&arguments.design)?;
        }
        if format == MessageFormat::Text {
            println!("mended     {mended}");
        }
    }
    match format {
        MessageFormat::Json => println!("{:#}", report::as_json(&analysis)),
        MessageFormat::Text => {
            report::findings(&analysis);
            summary(&analysis);
        }
    }
    Ok(report::code(&analysis))
}

fn summary(analysis: &Analysis) {
    for dial in &analysis.dials {
        let variant = dial.design.variant.as_ref().map(|variant| format!(" · {variant}")).unwrap_or_default();
        println!("{}{variant}", dial.design.title);
        for default in &dial.design.defaults {
            println!("  {} taken as {}: {}", default.what, default.taken, default.why);
        }
    }
    println!("findings   {}", report::counted(analysis));
    if report::code(analysis) == FINE && !analysis.dials.is_empty() {
        println!("ready to build");
    }
}
