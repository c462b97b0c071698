//! `soakbook serve`: install what is missing, build, serve.

use std::io::{self, ErrorKind, Read, Write};
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr, TcpListener, TcpStream};
use std::time::Duration;

use super::build::{self, Kind, Voice};
use super::package::Package;
use super::steps::Steps;
use super::tools::Needs;
use super::{Trouble, server, tools};

/// Always this one: a browser keeps data by address, port included, so another port would show an empty book.
pub(crate) const PORT: u16 = 8711;

pub(crate) fn run() -> Result<(), Trouble> {
    let package = Package::find()?;
    // Before the build, so that a taken port is known at once and not after minutes.
    let listeners = listen()?;
    let steps = Steps::new(package.logs());
    let tools = tools::find_or_install(&package, Needs::Nothing, &steps, || build::compile_ahead(&package, &steps))?;
    let dist = package.desk().join("serve-dist");
    steps.say("Building the app, usually 2 minutes the first time …");
    build::build(&package, &tools, Kind::Quick, &dist, Voice::Aloud)?;
    steps.say("Built, quickly: larger and slower than the app for phones, which `cargo run -- build` makes");
    println!(
        "
Soakbook is at   http://localhost:{PORT}   (Ctrl-C stops it; once opened, the app goes on without it)

On a phone a browser keeps the app only from localhost or https:
  for a try      USB cable, USB debugging on:  adb reverse tcp:{PORT} tcp:{PORT}
                 then open the same address on the phone
  for real use   cargo run -- build, put the folder dist on any https host, and open that
The address is the data's address: what is recorded under one is not seen under another."
    );
    serve(listeners, server::router(&dist)).map_err(|error| Trouble::Mend(format!("The server stopped: {error}")))
}

/// `soakbook build`: the app as it goes to phones, into `dist`.
pub(crate) fn build_for_phones() -> Result<(), Trouble> {
    let package = Package::find()?;
    let steps = Steps::new(package.logs());
    let tools = tools::find_or_install(&package, Needs::WasmOpt, &steps, || ())?;
    let dist = package.root.join("dist");
    steps.say("Building the app for phones, usually 5 minutes the first time …");
    build::build(&package, &tools, Kind::Small, &dist, Voice::Aloud)?;
    steps.say(&format!("The app is in {}", dist.display()));
    Ok(())
}

/// Both loopback addresses, because `localhost` may mean either.
fn listen() -> Result<Vec<TcpListener>, Trouble> {
    let mut listeners = Vec::new();
    for address in [IpAddr::V4(Ipv4Addr::LOCALHOST), IpAddr::V6(Ipv6Addr::LOCALHOST)] {
        match TcpListener::bind((address, PORT)) {
            Ok(listener) => listeners.push(listener),
            Err(error) if error.kind() == ErrorKind::AddrInUse => return Err(taken(address)),
            // A machine may have only one of the two.
            Err(error) if address.is_ipv4() => {
                return Err(Trouble::FreePort(format!("Port {PORT} cannot be opened: {error}")));
            }
            Err(_) => {}
        }
    }
    Ok(listeners)
}

fn taken(address: IpAddr) -> Trouble {
    let by_us = home_page(address).is_ok_and(|page| page.contains("<title>Soakbook</title>"));
    Trouble::FreePort(if by_us {
        format!(
            "Soakbook is already served at http://localhost:{PORT}, by another `cargo serve`.\n\
             Open that, or stop it with Ctrl-C in its own terminal to serve this folder."
        )
    } else {
        let who = if cfg!(windows) { format!("netstat -ano | findstr :{PORT}") } else { format!("lsof -i :{PORT}") };
        format!(
            "Port {PORT} is taken by another program, and Soakbook serves on no other: a browser keeps the data\n\
             by address, port included. This names the program, to be stopped:\n\n    {who}"
        )
    })
}

fn home_page(address: IpAddr) -> io::Result<String> {
    let wait = Duration::from_secs(1);
    let mut stream = TcpStream::connect_timeout(&SocketAddr::new(address, PORT), wait)?;
    stream.set_read_timeout(Some(wait))?;
    stream.write_all(b"GET / HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")?;
    let mut page = Vec::new();
    // What came before a time-out is enough.
    let _ = stream.take(4096).read_to_end(&mut page);
    Ok(String::from_utf8_lossy(&page).into_owned())
}

#[tokio::main]
async fn serve(listeners: Vec<TcpListener>, router: axum::Router) -> io::Result<()> {
    let mut servers = Vec::new();
    for listener in listeners {
        listener.set_nonblocking(true)?;
        let listener = tokio::net::TcpListener::from_std(listener)?;
        servers.push(tokio::spawn(axum::serve(listener, router.clone()).into_future()));
    }
    for server in servers {
        server.await??;
    }
    Ok(())
}
