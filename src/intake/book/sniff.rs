//! What a file is, by its first bytes. Names lie.

use super::refusal::Foreign;

/// What the first bytes promise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Container {
    Zip,
    /// The compound file of the older office formats, and of encrypted new
    /// ones.
    Ole,
    /// Perhaps text, to be decoded.
    Text,
    Foreign(Foreign),
}

pub(super) fn container(bytes: &[u8]) -> Container {
    const SIGNATURES: [(&[u8], Container); 23] = [
        (b"PK\x03\x04", Container::Zip),
        (b"PK\x05\x06", Container::Zip),
        (b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", Container::Ole),
        (b"%PDF", Container::Foreign(Foreign::Pdf)),
        (b"\x89PNG", Container::Foreign(Foreign::Picture)),
        (b"\xFF\xD8\xFF", Container::Foreign(Foreign::Picture)),
        (b"GIF8", Container::Foreign(Foreign::Picture)),
        (b"II*\0", Container::Foreign(Foreign::Picture)),
        (b"MM\0*", Container::Foreign(Foreign::Picture)),
        (b"AC10", Container::Foreign(Foreign::Picture)),
        (b"Rar!", Container::Foreign(Foreign::Archive)),
        (b"7z\xBC\xAF\x27\x1C", Container::Foreign(Foreign::Archive)),
        (b"\x1F\x8B\x08", Container::Foreign(Foreign::Archive)),
        (b"BZh", Container::Foreign(Foreign::Archive)),
        (b"\xFD7zXZ\0", Container::Foreign(Foreign::Archive)),
        (b"MSCF", Container::Foreign(Foreign::Archive)),
        (b"PAR1", Container::Foreign(Foreign::Unknown)),
        (b"SQLite format 3", Container::Foreign(Foreign::Unknown)),
        (b"MZ\x90\0", Container::Foreign(Foreign::Unknown)),
        // A sheet's first record without a container around it (MS-XLS 2.4.21
        // and the forms before it).
        (
            b"\x09\x00\x04\x00",
            Container::Foreign(Foreign::OldWorkbook),
        ),
        (
            b"\x09\x02\x06\x00",
            Container::Foreign(Foreign::OldWorkbook),
        ),
        (
            b"\x09\x04\x06\x00",
            Container::Foreign(Foreign::OldWorkbook),
        ),
        (
            b"\x09\x08\x08\x00",
            Container::Foreign(Foreign::OldWorkbook),
        ),
    ];
    let found = SIGNATURES.iter().find(|(sign, _)| bytes.starts_with(sign));
    if let Some((_, container)) = found {
        return *container;
    }
    let at = |from: usize, sign: &[u8]| bytes.get(from..from + sign.len()) == Some(sign);
    if (at(0, b"RIFF") && at(8, b"WEBP")) || (at(0, b"BM") && at(6, b"\0\0\0\0")) {
        return Container::Foreign(Foreign::Picture);
    }
    if at(4, b"ftyphei") {
        return Container::Foreign(Foreign::Picture);
    }
    if at(257, b"ustar") {
        return Container::Foreign(Foreign::Archive);
    }
    Container::Text
}

/// Text that is no table, by its beginning.
pub(super) fn markup(text: &str) -> Option<Foreign> {
    let head: String = text.trim_start().chars().take(4_096).collect();
    let head = head.to_ascii_lowercase();
    if head.starts_with('<') {
        if head.contains("urn:schemas-microsoft-com:office:spreadsheet") && !head.contains("<html")
            || head.contains("mso-application progid=\"excel.sheet\"")
        {
            return Some(Foreign::XmlSpreadsheet);
        }
        let web = [
            "<html",
            "<!doctype html",
            "<table",
            "<body",
            "<head",
            "<meta",
        ];
        if web.iter().any(|tag| head.contains(tag)) {
            return Some(Foreign::WebPage);
        }
        let tag = head.chars().nth(1);
        return tag
            .is_some_and(|c| c.is_ascii_alphabetic() || c == '?' || c == '!')
            .then_some(Foreign::Markup);
    }
    if head.starts_with("{\\rtf") || is_json(&head) {
        return Some(Foreign::Markup);
    }
    if head.starts_with("%pdf") {
        return Some(Foreign::Pdf);
    }
    is_mail(&head).then_some(Foreign::Mail)
}

fn is_json(head: &str) -> bool {
    let mut signs = head.chars().filter(|c| !c.is_whitespace());
    match (signs.next(), signs.next()) {
        (Some('{'), Some('"')) => head.contains("\":") || head.contains("\" :"),
        (Some('['), Some('{')) => true,
        _ => false,
    }
}

/// A transmittal block has From, To, Date and Subject too: only what a mail
/// program alone writes counts.
fn is_mail(head: &str) -> bool {
    const ONLY_MAIL: [&str; 6] = [
        "received:",
        "return-path:",
        "message-id:",
        "mime-version:",
        "delivered-to:",
        "content-transfer-encoding:",
    ];
    let found = head
        .lines()
        .filter(|line| ONLY_MAIL.iter().any(|name| line.starts_with(name)));
    found.count() >= 2
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_bytes_tell_the_container() {
        for (bytes, container_of) in [
            (&b"PK\x03\x04rest"[..], Container::Zip),
            (b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", Container::Ole),
            (b"%PDF-1.7", Container::Foreign(Foreign::Pdf)),
            (b"\x89PNG\r\n", Container::Foreign(Foreign::Picture)),
            (b"RIFF1234WEBP", Container::Foreign(Foreign::Picture)),
            (b"Rar!\x1A\x07", Container::Foreign(Foreign::Archive)),
            (b"PANEL,BREAKER", Container::Text),
            (b"BM,PANEL,MCA", Container::Text),
            (b"", Container::Text),
        ] {
            assert_eq!(container(bytes), container_of);
        }
    }

    #[test]
    fn text_that_is_no_table_is_told_from_tables() {
        for (text, foreign) in [
            ("<html><table>", Some(Foreign::WebPage)),
            ("\n<TABLE border=1>", Some(Foreign::WebPage)),
            (
                "<?xml version=\"1.0\"?><?mso-application progid=\"Excel.Sheet\"?>",
                Some(Foreign::XmlSpreadsheet),
            ),
            ("<?xml version=\"1.0\"?><job/>", Some(Foreign::Markup)),
            ("{\"tag\": \"FC-1\"}", Some(Foreign::Markup)),
            ("{\\rtf1", Some(Foreign::Markup)),
            (
                "Received: by a\nFrom: b\nMIME-Version: 1.0\n",
                Some(Foreign::Mail),
            ),
            ("From: A\nTo: B\nDate: C\nSubject: D\nTag,MCA\n", None),
            ("<15A,30A\n", None),
            ("[1],[2]\n", None),
            ("Tag,MCA\n", None),
        ] {
            assert_eq!(markup(text), foreign, "{text}");
        }
    }
}
