//! `bench`: the bench on the web.

use crate::exit::{CODES, Failure};
use std::io::{IsTerminal, Write};
use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use store::{Place, StoreError};
use web::{App, PassphraseError, Reach, SHORTEST_PASSPHRASE};

/// Open the bench in a browser: wiring, readings, suspects, next check, all on one page a job.
///
/// Jobs are saved at every entry. Only this machine can reach the bench unless --lan is given; then everyone on the
/// network who knows the pass-phrase can. Stop it with Ctrl+C.
#[derive(clap::Args)]
#[command(after_help = CODES)]
pub struct Bench {
    /// Port to listen on; 0 takes any free one.
    #[arg(long, default_value_t = 8714)]
    port: u16,
    /// Where jobs are kept: a file, or the URL of a PostgreSQL database (postgresql://user@host/name). Without it, a
    /// file in your data folder.
    #[arg(long)]
    store: Option<String>,
    /// Let others on the network in, with the pass-phrase that is asked for at the first start.
    #[arg(long)]
    lan: bool,
    /// Ask for a new pass-phrase.
    #[arg(long, requires = "lan")]
    new_pass_phrase: bool,
    /// A further host name by which the bench is reached, such as that of a proxy in front of it; may be given several
    /// times.
    #[arg(long, value_name = "NAME")]
    host: Vec<String>,
    /// Do not open a browser.
    #[arg(long)]
    no_browser: bool,
}

/// A pass-phrase for starts without a person at the terminal.
const PASSPHRASE_VARIABLE: &str = "FAULTWRIGHT_PASS_PHRASE";

impl From<StoreError> for Failure {
    fn from(error: StoreError) -> Self {
        Failure::WrongUse(error.to_string())
    }
}

impl Bench {
    pub fn run(self) -> Result<(), Failure> {
        let place = match &self.store {
            Some(text) => Place::parse(text)?,
            None => Place::in_user_folder()?,
        };
        let reach = if self.lan { Reach::Network } else { Reach::Loopback };
        let app = App::new(store::open(&place)?, reach, self.host.clone())?;
        if self.lan && (self.new_pass_phrase || !app.has_passphrase()?) {
            set_passphrase(&app)?;
        } else if self.lan && std::env::var_os(PASSPHRASE_VARIABLE).is_some() {
            say("The pass-phrase set earlier holds; --new-pass-phrase sets another.")?;
        }
        let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
        let served = runtime.block_on(self.serve(app.clone(), &place));
        // The store is closed here, where waiting for it is allowed.
        drop(app);
        served
    }

    async fn serve(&self, app: App, place: &Place) -> Result<(), Failure> {
        let own = if self.lan { Ipv4Addr::UNSPECIFIED } else { Ipv4Addr::LOCALHOST };
        let listener = tokio::net::TcpListener::bind((own, self.port)).await.map_err(|error| self.no_port(&error))?;
        let address = listener.local_addr()?;
        let here = format!("http://localhost:{}/", address.port());
        say(&format!("The bench is at {here}"))?;
        if let Some(outside) = self.lan.then(|| network_address(address)).flatten() {
            say(&format!("On the network: http://{outside}/ (pass-phrase needed; nothing is encrypted on the way)"))?;
        }
        say(&format!("Jobs are kept in {place}. Stop with Ctrl+C."))?;
        if !self.no_browser && open::that_detached(&here).is_err() {
            say("No browser could be opened; open the address yourself.")?;
        }
        let stop = async {
            // If there is no way to hear of Ctrl+C, the system's own way of ending a program is left.
            if tokio::signal::ctrl_c().await.is_err() {
                std::future::pending::<()>().await;
            }
        };
        web::serve(listener, app, stop).await?;
        say("Stopped; everything confirmed is saved.")?;
        Ok(())
    }

    fn no_port(&self, error: &std::io::Error) -> Failure {
        let port = self.port;
        Failure::WrongUse(match error.kind() {
            std::io::ErrorKind::AddrInUse => {
                format!(
                    "port {port} is in use, perhaps by another bench; close it, or choose another with --port, or 0 for any free one"
                )
            }
            std::io::ErrorKind::PermissionDenied => {
                format!("port {port} may not be used by you; choose one above 1023 with --port")
            }
            _ => format!("cannot listen on port {port}: {error}"),
        })
    }
}

fn say(words: &str) -> Result<(), Failure> {
    let mut out = std::io::stdout();
    writeln!(out, "{words}")?;
    out.flush()?;
    Ok(())
}

fn set_passphrase(app: &App) -> Result<(), Failure> {
    let refused = |error: PassphraseError| Failure::WrongUse(error.to_string());
    if let Ok(words) = std::env::var(PASSPHRASE_VARIABLE) {
        return app.set_passphrase(&words).map_err(refused);
    }
    if !std::io::stdin().is_terminal() {
        return Err(Failure::WrongUse(format!(
            "--lan needs a pass-phrase at its first start: run it at a terminal, or put one in {PASSPHRASE_VARIABLE}"
        )));
    }
    let words = rpassword::prompt_password(format!(
        "Choose a pass-phrase for this bench, at least {SHORTEST_PASSPHRASE} characters (it is not shown): "
    ))?;
    let again = rpassword::prompt_password("Once more: ")?;
    if words != again {
        return Err(Failure::WrongUse("the two pass-phrases differ; start again".into()));
    }
    app.set_passphrase(&words).map_err(refused)
}

/// This machine's address on its network, as others see it. No packet is sent: the socket is only asked which address it
/// would send from.
fn network_address(listening: SocketAddr) -> Option<SocketAddr> {
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    // A documentation address (RFC 5737), never one in use.
    socket.connect((IpAddr::from([192, 0, 2, 1]), 9)).ok()?;
    let own = socket.local_addr().ok()?.ip();
    (!own.is_loopback()).then(|| SocketAddr::new(own, listening.port()))
}
