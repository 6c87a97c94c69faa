//! `view`: a page that follows the file, on this machine alone.

mod idle;
mod live;
mod serve;
mod watch;

use std::io::ErrorKind;
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;

use super::{FINE, MessageFormat, report};
use crate::parallel::STACK_BYTES;
use crate::view::{Choice, KEY};
use live::Live;

#[derive(Debug, Args)]
pub(super) struct ViewArguments {
    /// The design, a .dial file
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// The port to listen on; by default any that is free
    #[arg(long, value_name = "PORT", default_value_t = 0, hide_default_value = true)]
    port: u16,
    /// Opens no browser; only prints the address of the page
    #[arg(long)]
    stay: bool,
}

pub(super) fn run(arguments: &ViewArguments) -> u8 {
    match served(arguments) {
        Ok(()) => FINE,
        Err(sentence) => report::fail(&sentence, MessageFormat::Text),
    }
}

fn served(arguments: &ViewArguments) -> Result<(), String> {
    let listener = listener(arguments.port)?;
    let port = listener.local_addr().map_err(|error| error.to_string())?.port();
    let live = Arc::new(Live::new(&arguments.file, port));
    readable(&live, &arguments.file)?;
    let watcher = watch::Watch::start(Arc::clone(&live))?;
    // Whoever has this account alone reads it here; others of the machine can reach the port.
    let address = format!("http://127.0.0.1:{port}/?{KEY}={}", live.token);
    println!("showing    {} at {address} (Ctrl-C stops it)", arguments.file.display());
    if !arguments.stay && opener::open_browser(&address).is_err() {
        eprintln!("dialwright: no browser could be opened; open {address} yourself");
    }
    let runtime = tokio::runtime::Builder::new_current_thread()
        .thread_stack_size(STACK_BYTES)
        .enable_all()
        .build()
        .map_err(|error| error.to_string())?;
    let served = runtime.block_on(serve::serve(listener, Arc::clone(&live)));
    watcher.stop();
    runtime.shutdown_background();
    println!("stopped");
    served.map_err(|error| format!("the page cannot be served: {error}"))
}

/// Only this machine can reach it.
fn listener(port: u16) -> Result<TcpListener, String> {
    let listener =
        TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, port))).map_err(|error| match error.kind() {
            ErrorKind::AddrInUse => {
                format!("port {port} is taken by another program; leave `--port` out, and a free one is found")
            }
            ErrorKind::PermissionDenied => {
                format!("you may not listen at port {port}; take one from 1024 up, or leave `--port` out")
            }
            _ => format!("port {port} cannot be listened at: {error}"),
        })?;
    listener.set_nonblocking(true).map_err(|error| error.to_string())?;
    Ok(listener)
}

/// A file that cannot be read from the first is a slip of the keyboard; later it may come back.
fn readable(live: &Live, file: &Path) -> Result<(), String> {
    live.loaded().map_err(|error| report::unreadable(&file.display().to_string(), &error))?;
    live.state(&Choice::default());
    Ok(())
}
