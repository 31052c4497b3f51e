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
