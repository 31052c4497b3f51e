//! Serial dates of spreadsheets.

/// Seconds of a day.
const DAY: i64 = 86_400;
/// The last serial that spreadsheets show as a date: the end of 9999.
const LAST: f64 = 2_958_465.999_999;

/// A serial date, taken apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Clock {
    pub year: i32,
    /// 1 to 12.
    pub month: u32,
    /// 1 to 31.
    pub day: u32,
    /// 0 is Sunday.
    pub weekday: u32,
    pub hour: u32,
    pub minute: u32,
    pub second: u32,
    /// Seconds since the epoch's midnight.
    seconds: i64,
}

impl Clock {
    /// `None` for what no spreadsheet shows as a date. The day 29 February
    /// 1900, which only the 1900 system has, is given as 28 February.
    pub fn at(serial: f64, epoch_1904: bool) -> Option<Self> {
        if !(0.0..=LAST).contains(&serial) {
            return None;
        }
        let seconds = (serial * DAY as f64).round() as i64;
        let whole = seconds / DAY;
        // Days since 1970-01-01: 25,569 is its serial, 24,107 that in 1904.
        let days = match (epoch_1904, whole) {
            (true, _) => whole - 24_107,
            (false, ..60) => whole - 25_568,
            (false, _) => whole - 25_569,
        };
        let (year, month, day) = civil(days);
        let of_day = (seconds % DAY) as u32;
        Some(Self {
            year,
            month,
            day,
            weekday: (days + 4).rem_euclid(7) as u32,
            hour: of_day / 3_600,
            minute: of_day / 60 % 60,
            second: of_day % 60,
            seconds,
        })
    }

    /// Whole hours, minutes or seconds since the epoch.
    pub fn elapsed(&self, unit: char) -> i64 {
        match unit {
            'h' => self.seconds / 3_600,
            'm' => self.seconds / 60,
            _ => self.seconds,
        }
    }
}

/// The civil date of a day counted from 1970-01-01 (the era arithmetic of
/// the proleptic Gregorian calendar: 146,097 days are 400 years).
fn civil(days: i64) -> (i32, u32, u32) {
    let shifted = days + 719_468;
    let era = shifted.div_euclid(146_097);
    let of_era = shifted.rem_euclid(146_097);
    let year_of_era = (of_era - of_era / 1_460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let month_from_march = (5 * of_year + 2) / 153;
    let day = of_year - (153 * month_from_march + 2) / 5 + 1;
    let month = if month_from_march < 10 {
        month_from_march + 3
    } else {
        month_from_march - 9
    };
    let year = year_of_era + era * 400 + i64::from(month <= 2);
    (year as i32, month as u32, day as u32)
}

/// The 1900 serial of an ISO 8601 date with or without a time, as
/// OpenDocument stores it.
pub(super) fn serial(iso: &str) -> Option<f64> {
    let (date, time) = iso.split_once('T').unwrap_or((iso, ""));
    let mut parts = date.splitn(3, '-').map(str::parse::<i64>);
    let (year, month, day) = (
        parts.next()?.ok()?,
        parts.next()?.ok()?,
        parts.next()?.ok()?,
    );
    if !(1..=9_999).contains(&year) || !(1..=12).contains(&month) || !(1..=31).contains(&day) {
        return None;
    }
    let mut seconds = 0.0;
    for (part, unit) in time.split(':').zip([3_600.0, 60.0, 1.0]) {
        if !part.is_empty() {
            seconds += part.parse::<f64>().ok()? * unit;
        }
    }
    let days = days(year, month, day);
    let leap_bug = if days + 25_569 <= 60 { 25_568 } else { 25_569 };
    Some((days + leap_bug) as f64 + seconds / DAY as f64)
}

/// An ISO 8601 duration of hours, minutes and seconds (`PT06H30M00S`) as a
/// part of a day.
pub(super) fn duration(iso: &str) -> Option<f64> {
    let mut rest = iso.strip_prefix("PT")?;
    let mut seconds = 0.0;
    while let Some(end) = rest.find(['H', 'M', 'S']) {
        let (number, unit) = rest.split_at(end);
        let scale = match unit.chars().next()? {
            'H' => 3_600.0,
            'M' => 60.0,
            _ => 1.0,
        };
        seconds += number.parse::<f64>().ok()? * scale;
        rest = unit.get(1..)?;
    }
    Some(seconds / DAY as f64)
}

/// Days of a civil date from 1970-01-01: [`civil`] turned round.
fn days(year: i64, month: i64, day: i64) -> i64 {
    let year = if month <= 2 { year - 1 } else { year };
    let era = year.div_euclid(400);
    let year_of_era = year.rem_euclid(400);
    let of_year = (153 * ((month + 9) % 12) + 2) / 5 + day - 1;
    let of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + of_year;
    era * 146_097 + of_era - 719_468
}

/// English, as schedules are.
pub fn month_name(month: u32) -> &'static str {
    match month {
        1 => "January",
        2 => "February",
        3 => "March",
        4 => "April",
        5 => "May",
        6 => "June",
        7 => "July",
        8 => "August",
        9 => "September",
        10 => "October",
        11 => "November",
        _ => "December",
    }
}

pub fn day_name(weekday: u32) -> &'static str {
    match weekday {
        0 => "Sunday",
        1 => "Monday",
        2 => "Tuesday",
        3 => "Wednesday",
        4 => "Thursday",
        5 => "Friday",
        _ => "Saturday",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_and_dates_turn_into_each_other() {
        for day in -25_567..80_000 {
            let (year, month, of_month) = civil(day);
            assert_eq!(
                days(year.into(), month.into(), of_month.into()),
                day,
                "{year}-{month}-{of_month}"
            );
        }
        assert_eq!(civil(0), (1970, 1, 1));
    }

    #[test]
    fn iso_dates_give_serials() {
        for (iso, expected) in [
            ("2026-10-02", Some(46_297.0)),
            ("2026-10-02T12:00:00", Some(46_297.5)),
            ("1900-03-01", Some(61.0)),
            ("1900-01-01", Some(1.0)),
            ("2026-13-02", None),
            ("x", None),
        ] {
            assert_eq!(serial(iso), expected, "{iso}");
        }
        assert_eq!(duration("PT06H30M00S"), Some(6.5 / 24.0));
        assert_eq!(duration("6:30"), None);
    }
}
