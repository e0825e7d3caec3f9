//! The stream over a real connection: who never reads is cut off, and a stop waits for nobody who only listens.
//!
//! Guards against S-36 of SAFETY.md.

use crate::kit::actor::Actor;
use crate::kit::house::{House, t};
use crate::kit::listen::{Reader, WAIT};
use counterclock::web::server::serve_until;
use serde_json::{Value, json};
use std::time::{Duration, Instant};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpSocket;
use tokio::sync::oneshot;

both!(who_never_reads_is_cut_off, a_stop_ends_open_streams);

type Served = tokio::task::JoinHandle<std::io::Result<()>>;

/// Serves the house on a port; its address, what stops it, and what comes of it.
fn serve(house: &House, patience: Duration) -> (std::net::SocketAddr, oneshot::Sender<()>, Served) {
    let socket = TcpSocket::new_v4().expect("a socket");
    // Inherited by what it accepts: by itself the system would keep several megabytes for each.
    socket.set_send_buffer_size(16_384).expect("a small buffer");
    socket.bind("127.0.0.1:0".parse().expect("an address")).expect("a port");
    let listener = socket.listen(64).expect("it listens").into_std().expect("a listener");
    let address = listener.local_addr().expect("its address");
    let (stop, stopped) = oneshot::channel();
    let service = house.service();
    let served =
        tokio::spawn(
            async move { serve_until(service, listener, None, async move { _ = stopped.await }, patience).await },
        );
    (address, stop, served)
}

/// By HTTP/1.0 the events come as they are, with no lengths between them.
async fn connect(
    house: &House,
    address: std::net::SocketAddr,
    (version, after): (&str, &str),
) -> tokio::net::TcpStream {
    let socket = TcpSocket::new_v4().expect("a socket");
    if version == "1.1" {
        socket.set_recv_buffer_size(4_096).expect("a small buffer");
    }
    let mut stream = socket.connect(address).await.expect("a connection");
    let token = &house.staff().1;
    let ask = format!(
        "GET /s/shop/api/stream{after} HTTP/{version}\r\nhost: shop.test\r\nauthorization: Bearer {token}\r\n\r\n"
    );
    stream.write_all(ask.as_bytes()).await.expect("it is asked");
    stream
}

async fn listening(house: &House, wanted: usize) {
    let begun = Instant::now();
    while house.service().feed("shop").listening() != wanted {
        assert!(begun.elapsed() < WAIT, "{} listen, not {wanted}", house.service().feed("shop").listening());
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
}

async fn who_never_reads_is_cut_off(house: House) {
    house.set_up().await;
    // More than is kept for a connection on its way.
    let note = "x".repeat(500);
    for batch in 0..3 {
        let one = |n: usize| {
            let id = format!("i{}", batch * 500 + n);
            json!({"kind": "item", "at": t("11:00"), "item": id, "product": "cake", "name": "x", "place": "bench", "note": note})
        };
        let many: Vec<Value> = (0..500).map(one).collect();
        house.manager().post(&json!(many)).await.ok();
    }
    let (address, stop, served) = serve(&house, Duration::from_secs(2));
    let never = connect(&house, address, ("1.1", "?after=0")).await;
    let mut reads = connect(&house, address, ("1.0", "?after=0")).await;
    listening(&house, 2).await;
    // The other one goes on reading, and has all of it.
    let (mut reader, mut piece, mut seen, head) = (Reader::default(), vec![0; 65_536], 0, house.head().await);
    let (mut said, mut begun) = (String::new(), false);
    while seen < head {
        let n = tokio::time::timeout(WAIT, reads.read(&mut piece)).await.expect("in time").expect("it is open");
        assert!(n > 0, "the one that reads is not cut off");
        said.push_str(std::str::from_utf8(&piece[..n]).expect("plain text, however it is cut"));
        if !begun {
            let Some(end) = said.find("\r\n\r\n") else { continue };
            said.drain(..end + 4);
            begun = true;
        }
        for event in reader.read(&std::mem::take(&mut said)) {
            assert_eq!(event.id, (seen + 1).to_string(), "each once and in order");
            seen += 1;
        }
    }
    listening(&house, 1).await;
    drop(never);
    stop.send(()).expect("it still runs");
    served.await.expect("no panic").expect("it ends well");
    listening(&house, 0).await;
}

async fn a_stop_ends_open_streams(house: House) {
    let (address, stop, served) = serve(&house, WAIT);
    let mut streams = Vec::new();
    for _ in 0..20 {
        streams.push(connect(&house, address, ("1.1", "")).await);
    }
    listening(&house, 20).await;
    let begun = Instant::now();
    stop.send(()).expect("it still runs");
    served.await.expect("no panic").expect("it ends well");
    // Requests under way may take ten seconds; these don't.
    assert!(begun.elapsed() < Duration::from_secs(5), "{:?}", begun.elapsed());
    for mut stream in streams {
        let mut all = Vec::new();
        tokio::time::timeout(WAIT, stream.read_to_end(&mut all)).await.expect("in time").expect("an orderly end");
        let text = String::from_utf8_lossy(&all);
        assert!(text.starts_with("HTTP/1.1 200") && text.ends_with("\r\n0\r\n\r\n"), "{text}");
    }
}
