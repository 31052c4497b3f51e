use super::Reading;
/// How a file writes its decimals.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Style {
    #[default]
    Point,
    Comma,
}

/// Settles a file's style from the texts of its cells.
pub fn decimal_style<'a>(_texts: impl IntoIterator<Item = &'a str>) -> Style {
    Style::Point
}

pub fn number(text: &str, _style: Style) -> Reading<f64> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}
