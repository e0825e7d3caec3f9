//! Whose word is taken for where a request came from: a proxy's that was named, and nobody else's.

use std::net::IpAddr;
use std::str::FromStr;

/// A network, like `10.0.0.0/8`; one address by itself is one too.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Network {
    address: IpAddr,
    bits: u8,
}

impl FromStr for Network {
    type Err = String;

    fn from_str(text: &str) -> Result<Network, String> {
        let wrong = || format!("`{text}` is no address and no network, like 127.0.0.1 or 10.0.0.0/8");
        let (address, bits) = text.split_once('/').map_or((text, None), |(a, b)| (a, Some(b)));
        let address = address.parse::<IpAddr>().map_err(|_| wrong())?.to_canonical();
        let most = if address.is_ipv4() { 32 } else { 128 };
        let bits = bits.map_or(Ok(most), |b| b.parse::<u8>().map_err(|_| wrong()))?;
        if bits > most { Err(wrong()) } else { Ok(Network { address, bits }) }
    }
}

impl Network {
    fn holds(&self, ip: IpAddr) -> bool {
        let (a, b, width) = match (self.address, ip.to_canonical()) {
            (IpAddr::V4(a), IpAddr::V4(b)) => (u128::from(a.to_bits()), u128::from(b.to_bits()), 32),
            (IpAddr::V6(a), IpAddr::V6(b)) => (a.to_bits(), b.to_bits(), 128),
            _ => return false,
        };
        (a ^ b).checked_shr(width - u32::from(self.bits)).unwrap_or(0) == 0
    }
}

/// Where a request came from, by whoever handed it over and what they say of it (`X-Forwarded-For`, the nearest last). Only
/// what a trusted proxy added counts: whatever stands before that anybody may have written.
pub fn client(peer: IpAddr, forwarded: &str, trusted: &[Network]) -> IpAddr {
    let by_proxy = |ip: IpAddr| trusted.iter().any(|n| n.holds(ip));
    let mut last = peer;
    for part in forwarded.rsplit(',').map(str::trim) {
        if !by_proxy(last) {
            break;
        }
        // Some write a port behind it.
        let bare = || part.parse::<std::net::SocketAddr>().map(|a| a.ip());
        match part.parse::<IpAddr>().or_else(|_| bare()) {
            Ok(ip) => last = ip,
            Err(_) => break,
        }
    }
    last.to_canonical()
}
