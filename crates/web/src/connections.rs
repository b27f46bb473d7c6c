//! Connections: taken one after the other, answered side by side, closed when nothing comes.

use axum::Router;
use axum::body::Body;
use axum::extract::{ConnectInfo, Request};
use hyper::body::Incoming;
use hyper::service::service_fn;
use hyper_util::rt::{TokioExecutor, TokioIo, TokioTimer};
use hyper_util::server::conn::auto::Builder;
use hyper_util::server::graceful::GracefulShutdown;
use std::future::Future;
use std::io;
use std::net::SocketAddr;
use std::time::Duration;
use tokio::net::{TcpListener, TcpStream};
use tower::ServiceExt;

/// A request must have said what it wants within this time.
const HEAD_WITHIN: Duration = Duration::from_secs(30);
/// Requests under way when the bench is stopped have this long to end.
const END_WITHIN: Duration = Duration::from_secs(10);
/// Pause after a connection could not be taken, such as when too many files are open.
const BREATH: Duration = Duration::from_millis(100);

/// Answers connections until `stop` is done, then lets those under way end.
///
/// # Errors
/// None at present; a listener that fails for a while is tried again.
pub async fn answer(listener: TcpListener, router: Router, stop: impl Future<Output = ()>) -> io::Result<()> {
    let graceful = GracefulShutdown::new();
    let mut stop = std::pin::pin!(stop);
    loop {
        tokio::select! {
            accepted = listener.accept() => match accepted {
                Ok((stream, peer)) => talk(stream, peer, router.clone(), &graceful),
                Err(error) => {
                    tracing::warn!("a connection could not be taken: {error}");
                    tokio::time::sleep(BREATH).await;
                }
            },
            () = &mut stop => break,
        }
    }
    drop(listener);
    if tokio::time::timeout(END_WITHIN, graceful.shutdown()).await.is_err() {
        tracing::warn!("some requests were still under way when the bench stopped");
    }
    Ok(())
}

fn talk(stream: TcpStream, peer: SocketAddr, router: Router, graceful: &GracefulShutdown) {
    let service = service_fn(move |mut request: Request<Incoming>| {
        request.extensions_mut().insert(ConnectInfo(peer));
        router.clone().oneshot(request.map(Body::new))
    });
    let mut builder = Builder::new(TokioExecutor::new());
    builder.http1().timer(TokioTimer::new()).header_read_timeout(HEAD_WITHIN);
    let connection = builder.serve_connection(TokioIo::new(stream), service).into_owned();
    let connection = graceful.watch(connection);
    tokio::spawn(async move {
        // A visitor who has gone is no news.
        if let Err(error) = connection.await {
            tracing::debug!("a connection from {peer} ended: {error}");
        }
    });
}
