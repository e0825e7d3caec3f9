//! A file that was sent by a form (RFC 7578): the first part of that name. Pure.

/// The part's bytes, where there is one.
pub fn part<'b>(content_type: &str, body: &'b [u8], name: &str) -> Option<&'b [u8]> {
    let (kind, rest) = content_type.split_once(';')?;
    if !kind.trim().eq_ignore_ascii_case("multipart/form-data") {
        return None;
    }
    let boundary = rest.split(';').find_map(|p| p.trim().strip_prefix("boundary="))?.trim_matches('"');
    let mark = format!("--{boundary}");
    let mut rest = &body[find(body, mark.as_bytes())? + mark.len()..];
    loop {
        rest = rest.strip_prefix(b"\r\n")?;
        let head = find(rest, b"\r\n\r\n")?;
        let headers = String::from_utf8_lossy(&rest[..head]).into_owned();
        let content = &rest[head + 4..];
        let end = find(content, format!("\r\n{mark}").as_bytes())?;
        let named = |line: &str| {
            let (what, value) = line.split_once(':')?;
            let of_form = what.eq_ignore_ascii_case("content-disposition");
            (of_form && value.split(';').any(|p| p.trim() == format!("name=\"{name}\""))).then_some(())
        };
        if headers.lines().any(|line| named(line).is_some()) {
            return Some(&content[..end]);
        }
        rest = &content[end + 2 + mark.len()..];
    }
}

fn find(within: &[u8], what: &[u8]) -> Option<usize> {
    within.windows(what.len()).position(|w| w == what)
}
