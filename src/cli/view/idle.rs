//! Lines on which nothing moves end, so that nobody keeps one for nothing.

use std::io::{self, ErrorKind};
use std::net::SocketAddr;
use std::pin::Pin;
use std::task::{Context, Poll, ready};
use std::time::Duration;

use axum::serve::Listener;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::time::{Instant, Sleep, sleep};

/// A listener whose lines end once nothing has been read or written for so long.
pub(super) struct Patient {
    pub(super) listener: TcpListener,
    pub(super) patience: Duration,
}

impl Listener for Patient {
    type Io = Line;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Line, SocketAddr) {
        let (stream, from) = Listener::accept(&mut self.listener).await;
        (Line { stream, patience: self.patience, ends: Box::pin(sleep(self.patience)) }, from)
    }

    fn local_addr(&self) -> io::Result<SocketAddr> {
        self.listener.local_addr()
    }
}

/// One such line.
pub(super) struct Line {
    stream: TcpStream,
    patience: Duration,
    ends: Pin<Box<Sleep>>,
}

impl Line {
    fn moved(&mut self) {
        self.ends.as_mut().reset(Instant::now() + self.patience);
    }
}

impl AsyncRead for Line {
    fn poll_read(mut self: Pin<&mut Self>, context: &mut Context<'_>, to: &mut ReadBuf<'_>) -> Poll<io::Result<()>> {
        if let Poll::Ready(read) = Pin::new(&mut self.stream).poll_read(context, to) {
            self.moved();
            return Poll::Ready(read);
        }
        ready!(self.ends.as_mut().poll(context));
        Poll::Ready(Err(ErrorKind::TimedOut.into()))
    }
}

impl AsyncWrite for Line {
    fn poll_write(mut self: Pin<&mut Self>, context: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        let written = ready!(Pin::new(&mut self.stream).poll_write(context, bytes));
        self.moved();
        Poll::Ready(written)
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(context)
    }
}

#[cfg(test)]
mod tests {
    use std::io::{Read as _, Write as _};

    use super::*;

    /// A line that says nothing ends; one on which something moves lives on.
    #[test]
    fn only_lines_on_which_nothing_moves_end() {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
        let patience = Duration::from_millis(400);
        let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
        listener.set_nonblocking(true).unwrap();
        let address = listener.local_addr().unwrap();
        let router = axum::Router::new().fallback(|| async { "here" });
        std::thread::spawn(move || {
            runtime.block_on(async {
                let listener = TcpListener::from_std(listener).unwrap();
                axum::serve(Patient { listener, patience }, router).await.unwrap();
            });
        });
        let open = || {
            let line = std::net::TcpStream::connect(address).unwrap();
            line.set_read_timeout(Some(Duration::from_secs(60))).unwrap();
            line
        };
        let (mut silent, mut busy) = (open(), open());
        assert_eq!(silent.read(&mut [0; 8]).unwrap_or(0), 0, "ended by the other side");
        let mut half = open();
        half.write_all(b"GET / HTTP/1.1\r\nHost: a").unwrap();
        assert_eq!(half.read(&mut [0; 8]).unwrap_or(0), 0, "half a request ends as well");
        drop(busy);
        busy = open();
        for _ in 0..6 {
            busy.write_all(b"GET / HTTP/1.1\r\nHost: a\r\n\r\n").unwrap();
            assert!(busy.read(&mut [0; 512]).unwrap() > 20);
            std::thread::sleep(patience / 4);
        }
    }
}
