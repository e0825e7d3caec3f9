//! A shop without a certificate: an authority of its own, which phones are told to trust once, and a certificate from it for
//! the names and addresses the service is reached at. And the certificate a server is started with, looked at first.

use crate::clock::{HOUR_MS, Instant};
use rcgen::{
    BasicConstraints, CertificateParams, CidrSubnet, DnType, ExtendedKeyUsagePurpose, GeneralSubtree, IsCa, Issuer,
    KeyPair, KeyUsagePurpose, NameConstraints,
};
use rustls::ServerConfig;
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use sha2::{Digest, Sha256};
use std::fs::{self, OpenOptions};
use std::io::Write;
use std::net::IpAddr;
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use time::OffsetDateTime;
use x509_parser::prelude::{FromDer, GeneralName, ParsedExtension, X509Certificate};

const DAY_MS: i64 = 24 * HOUR_MS;
/// How long a certificate is good: phones refuse longer ones of 398 days and more (from memory).
const LEAF_DAYS: i64 = 397;
/// How long an authority is.
const AUTHORITY_DAYS: i64 = 10 * 365;
/// A certificate that ends within so many days is told at the start.
const SOON_DAYS: i64 = 30;
/// What the authority is called on a phone.
const NAME: &str = "Counterclock, this shop's own authority";

/// What was made.
pub struct Made {
    /// The authority's certificate, for phones to trust.
    pub authority: PathBuf,
    /// The server's.
    pub cert: PathBuf,
    /// Its key.
    pub key: PathBuf,
    /// The authority's SHA-256, to compare on a phone.
    pub fingerprint: String,
    /// When the server's certificate ends.
    pub ends: Instant,
}

fn when(t: Instant) -> OffsetDateTime {
    OffsetDateTime::from_unix_timestamp(t.0.div_euclid(1000)).unwrap_or(OffsetDateTime::UNIX_EPOCH)
}

/// SHA-256 in pairs of hex digits, as phones show it.
pub fn fingerprint(der: &[u8]) -> String {
    Sha256::digest(der).iter().map(|b| format!("{b:02X}")).collect::<Vec<_>>().join(":")
}

/// A name or an address that a certificate can be for.
fn host(text: &str) -> Result<String, String> {
    let label = |l: &str| {
        (1..=63).contains(&l.len())
            && l.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-')
            && !l.starts_with('-')
            && !l.ends_with('-')
    };
    let text = text.trim().to_ascii_lowercase();
    let name = text.len() <= 253 && text.split('.').all(label) && text.bytes().any(|b| b.is_ascii_lowercase());
    match text.parse::<IpAddr>().is_ok() || name {
        true => Ok(text),
        false => Err(format!("`{text}` is no name and no address: give one like clock.example or 192.0.2.7.")),
    }
}

fn subtree(host: &str) -> GeneralSubtree {
    match host.parse::<IpAddr>() {
        Ok(ip) => GeneralSubtree::IpAddress(CidrSubnet::from_addr_prefix(ip, if ip.is_ipv4() { 32 } else { 128 })),
        Err(_) => GeneralSubtree::DnsName(host.to_owned()),
    }
}

fn about(path: &Path) -> impl Fn(std::io::Error) -> String {
    move |e| format!("{}: {e}. Give --out a folder that can be written to.", path.display())
}

/// Writes a file that nobody else may read where it is secret; whole or not at all.
fn write(path: &Path, text: &str, secret: bool) -> Result<(), String> {
    let half = path.with_extension("part");
    _ = fs::remove_file(&half);
    let mode = if secret { 0o600 } else { 0o644 };
    let file = OpenOptions::new().write(true).create_new(true).mode(mode).open(&half);
    file.and_then(|mut f| f.write_all(text.as_bytes()).and_then(|()| f.sync_all())).map_err(about(&half))?;
    fs::rename(&half, path).map_err(about(path))
}

fn failed(e: rcgen::Error) -> String {
    format!("the certificate could not be made: {e}")
}

fn params(now: Instant, days: i64, name: &str) -> CertificateParams {
    let mut p = CertificateParams::default();
    // A phone's clock may be a day behind.
    (p.not_before, p.not_after) = (when(now.plus(-DAY_MS)), when(now.plus((days - 1) * DAY_MS)));
    p.distinguished_name = rcgen::DistinguishedName::new();
    p.distinguished_name.push(DnType::CommonName, name);
    p
}

fn authority(hosts: &[String], now: Instant) -> CertificateParams {
    let mut p = params(now, AUTHORITY_DAYS, NAME);
    p.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
    p.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
    // Whoever gets hold of its key can still speak for these hosts alone.
    let permitted_subtrees = hosts.iter().map(|h| subtree(h)).collect();
    p.name_constraints = Some(NameConstraints { permitted_subtrees, excluded_subtrees: Vec::new() });
    p
}

/// The hosts an authority is for.
fn hosts_of(der: &[u8]) -> Option<Vec<String>> {
    let (_, cert) = X509Certificate::from_der(der).ok()?;
    let constraints = cert.extensions().iter().find_map(|e| match e.parsed_extension() {
        ParsedExtension::NameConstraints(c) => Some(c),
        _ => None,
    })?;
    let host = |base: &GeneralName| match base {
        GeneralName::DNSName(name) => Some((*name).to_owned()),
        GeneralName::IPAddress(bytes) => match bytes.len() {
            8 => Some(IpAddr::from(<[u8; 4]>::try_from(&bytes[..4]).ok()?).to_string()),
            32 => Some(IpAddr::from(<[u8; 16]>::try_from(&bytes[..16]).ok()?).to_string()),
            _ => None,
        },
        _ => None,
    };
    Some(constraints.permitted_subtrees.iter().flatten().filter_map(|s| host(&s.base)).collect())
}

/// Makes a certificate for these hosts, and the authority first where the folder has none yet. The authority stays: making
/// a new certificate from it is what is done every year.
pub fn certificate(hosts: &[String], out: &Path, now: Instant) -> Result<Made, String> {
    let hosts: Vec<String> = hosts.iter().map(|h| host(h)).collect::<Result<_, _>>()?;
    fs::create_dir_all(out).map_err(about(out))?;
    let file = |name: &str| out.join(name);
    let (crt, secret) = (file("authority.crt"), file("authority.key"));
    let key = match (crt.exists(), secret.exists()) {
        (false, false) => {
            let key = KeyPair::generate().map_err(failed)?;
            let cert = authority(&hosts, now).self_signed(&key).map_err(failed)?;
            write(&secret, &key.serialize_pem(), true)?;
            write(&crt, &cert.pem(), false)?;
            key
        }
        (true, true) => {
            let text = fs::read_to_string(&secret).map_err(about(&secret))?;
            KeyPair::from_pem(&text).map_err(|e| format!("{} cannot be read: {e}.", secret.display()))?
        }
        _ => {
            return Err(format!(
                "{} has half an authority: move what is there away, and make a new one.",
                out.display()
            ));
        }
    };
    let der = CertificateDer::from_pem_file(&crt).map_err(|e| format!("{} cannot be read: {e}.", crt.display()))?;
    let may = hosts_of(&der).unwrap_or_default();
    if let Some(other) = hosts.iter().find(|h| !may.contains(h)) {
        let may = may.join(", ");
        return Err(format!(
            "The authority in {} is for {may} alone, not for {other}. Make another in another folder, and have the phones trust that.",
            out.display()
        ));
    }
    let mut leaf = params(now, LEAF_DAYS, &hosts[0]);
    leaf.subject_alt_names = CertificateParams::new(hosts.clone()).map_err(failed)?.subject_alt_names;
    leaf.key_usages = vec![KeyUsagePurpose::DigitalSignature];
    leaf.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
    leaf.use_authority_key_identifier_extension = true;
    let own = KeyPair::generate().map_err(failed)?;
    let signed = leaf.signed_by(&own, &Issuer::new(authority(&may, now), key)).map_err(failed)?;
    let (cert, key) = (file("server.crt"), file("server.key"));
    write(&key, &own.serialize_pem(), true)?;
    write(&cert, &signed.pem(), false)?;
    let ends = Instant(leaf.not_after.unix_timestamp() * 1000);
    Ok(Made { authority: crt, cert, key, fingerprint: fingerprint(&der), ends })
}

/// What a server is to speak TLS with, and a line about it that somebody should read, if there is one. A certificate that
/// cannot work is refused here, in a sentence, rather than by every phone.
pub fn config(cert: &Path, key: &Path, now: Instant) -> Result<(Arc<ServerConfig>, Option<String>), String> {
    let unreadable = |path: &Path, e: &dyn std::fmt::Display| format!("{} cannot be read: {e}.", path.display());
    let chain: Vec<CertificateDer> =
        CertificateDer::pem_file_iter(cert).and_then(Iterator::collect).map_err(|e| unreadable(cert, &e))?;
    let secret = PrivateKeyDer::from_pem_file(key).map_err(|e| unreadable(key, &e))?;
    let first = chain.first().ok_or_else(|| format!("{} has no certificate in it.", cert.display()))?;
    let (_, leaf) = X509Certificate::from_der(first).map_err(|e| unreadable(cert, &e))?;
    let validity = leaf.validity();
    let (begins, ends) =
        (Instant(validity.not_before.timestamp() * 1000), Instant(validity.not_after.timestamp() * 1000));
    if now < begins {
        return Err(format!(
            "The certificate {} begins only {begins}; here it is {now}. Check this machine's clock.",
            cert.display()
        ));
    }
    if now > ends {
        return Err(format!(
            "The certificate {} ended {ends}. Make a new one: counterclock certificate.",
            cert.display()
        ));
    }
    let soon = (ends.since(now) < SOON_DAYS * DAY_MS)
        .then(|| format!("the certificate {} ends {ends}: make a new one before", cert.display()));
    // Named, so that a second provider that some dependency might bring makes no difference.
    let ring = Arc::new(rustls::crypto::ring::default_provider());
    let config = ServerConfig::builder_with_provider(ring).with_safe_default_protocol_versions();
    let config = config.map_err(|e| e.to_string())?.with_no_client_auth().with_single_cert(chain, secret);
    let mut config =
        config.map_err(|e| format!("{} and {} don't belong together: {e}.", cert.display(), key.display()))?;
    config.alpn_protocols = vec![b"http/1.1".to_vec()];
    Ok((Arc::new(config), soon))
}
