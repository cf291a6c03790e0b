//! The static server.

use std::io::ErrorKind;
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::path::Path;
use std::thread::JoinHandle;

use anyhow::{Context, Result, bail};
use axum::Router;
use axum::http::{HeaderName, HeaderValue};
use axum::middleware::map_response;
use axum::response::Response;
use tokio::sync::oneshot;
use tower_http::services::ServeDir;

use crate::policy;

/// Serves a folder on this machine until dropped.
#[derive(Debug)]
pub struct Server {
    address: SocketAddr,
    stop: Option<oneshot::Sender<()>>,
    thread: Option<JoinHandle<()>>,
}

impl Server {
    /// Serves `folder`, with the security headers; port 0 picks a free port.
    pub fn start(folder: &Path, port: u16) -> Result<Self> {
        let headers = policy::headers()
            .into_iter()
            .map(|(name, value)| Ok((HeaderName::from_static(name), HeaderValue::from_str(&value)?)));
        let headers: Vec<_> = headers.collect::<Result<_>>()?;
        let files = Router::new().fallback_service(ServeDir::new(folder));
        Self::serve(
            files.layer(map_response(move |mut response: Response| {
                response.headers_mut().extend(headers.clone());
                async { response }
            })),
            port,
        )
    }

    /// Serves `folder` below `path` as a plain web host would, without headers of ours.
    pub fn start_plain(folder: &Path, path: &str, port: u16) -> Result<Self> {
        Self::serve(Router::new().nest_service(path, ServeDir::new(folder)), port)
    }

    fn serve(router: Router, port: u16) -> Result<Self> {
        let listener = match TcpListener::bind((Ipv4Addr::LOCALHOST, port)) {
            Err(error) if error.kind() == ErrorKind::AddrInUse => {
                bail!(
                    "port {port} is in use: stop what uses it, or choose another with --port or EVENRISE_PORT"
                )
            }
            bound => bound.with_context(|| format!("cannot listen on port {port}"))?,
        };
        listener.set_nonblocking(true)?;
        let address = listener.local_addr()?;
        let (stop, stopped) = oneshot::channel();
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
        let thread = std::thread::spawn(move || {
            runtime.block_on(async move {
                let listener =
                    tokio::net::TcpListener::from_std(listener).expect("the listener is non-blocking");
                tokio::spawn(async move { axum::serve(listener, router).await });
                // An error means that the sender is gone, which is a stop as well.
                let _ = stopped.await;
            });
            // The runtime goes out of scope here and closes every connection with it.
        });
        Ok(Self { address, stop: Some(stop), thread: Some(thread) })
    }

    /// Where the folder is served.
    pub fn url(&self) -> String {
        format!("http://localhost:{}/", self.address.port())
    }

    /// Serves until the process ends.
    pub fn wait(mut self) {
        if let Some(thread) = self.thread.take() {
            thread.join().expect("the server does not panic");
        }
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        if let (Some(stop), Some(thread)) = (self.stop.take(), self.thread.take()) {
            // Refused only by a server that has already ended.
            let _ = stop.send(());
            let _ = thread.join();
        }
    }
}
