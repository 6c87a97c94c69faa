//! A date with a time of day, as the clock on the wall shows it: no time zone, no leap seconds.
//!
//! A run is wanted when the shop's own clock says so, so no crate for dates and their zones is needed.

use std::fmt;

use crate::units::Time;

const DAY: i64 = 24 * 60;
const WEEKDAYS: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];

/// A minute of the Gregorian calendar, from the year 1 to 9999.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct LocalDateTime {
    /// Minutes since the first minute of 1 January of the year 1, a Monday.
    minutes: i64,
}

impl LocalDateTime {
    /// Reads `2026-12-04 18:00` (ISO 8601, a blank in place of the T, which may stand as well); none for anything else.
    pub fn parse(text: &str) -> Option<Self> {
        let (date, time) = text.trim().split_once([' ', 'T'])?;
        let [year, month, day] = numbers(date, '-', &[4, 2, 2])?.try_into().ok()?;
        let [hour, minute] = numbers(time, ':', &[2, 2])?.try_into().ok()?;
        let is_date =
            (1..=9999).contains(&year) && (1..=12).contains(&month) && (1..=month_length(year, month)).contains(&day);
        let is_time = hour < 24 && minute < 60;
        let days = days_before_year(year) + (1..month).map(|before| month_length(year, before)).sum::<i64>() + day - 1;
        (is_date && is_time).then_some(Self { minutes: days * DAY + hour * 60 + minute })
    }

    /// So much earlier, to the minute before; none before the year 1. What a sum of times strays by rounding is no minute.
    pub fn earlier(self, by: Time) -> Option<Self> {
        #[allow(clippy::cast_possible_truncation, reason = "far below 2^63 minutes: the year 1 is the end")]
        let by = (by.as_seconds() / 60.0 - 1e-6).ceil() as i64;
        self.minutes.checked_sub(by).filter(|minutes| *minutes >= 0).map(|minutes| Self { minutes })
    }

    fn date(self) -> (i64, i64, i64) {
        let days = self.minutes.div_euclid(DAY);
        // A year has at least 365 days, so the year found this way is at most a few too late.
        let mut year = days / 365 + 1;
        while days_before_year(year) > days {
            year -= 1;
        }
        let (mut month, mut left) = (1, days - days_before_year(year));
        while left >= month_length(year, month) {
            left -= month_length(year, month);
            month += 1;
        }
        (year, month, left + 1)
    }
}

/// "Fri 2026-12-04 18:00".
impl fmt::Display for LocalDateTime {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (year, month, day) = self.date();
        let weekday = usize::try_from(self.minutes.div_euclid(DAY) % 7).ok().and_then(|at| WEEKDAYS.get(at).copied());
        let minute = self.minutes.rem_euclid(DAY);
        let (hour, minute) = (minute / 60, minute % 60);
        write!(f, "{} {year:04}-{month:02}-{day:02} {hour:02}:{minute:02}", weekday.unwrap_or_default())
    }
}

/// Numbers of just so many digits, with this sign between them.
fn numbers(text: &str, between: char, digits: &[usize]) -> Option<Vec<i64>> {
    let parts: Vec<&str> = text.split(between).collect();
    let right = parts
        .iter()
        .zip(digits)
        .all(|(part, count)| part.len() == *count && part.bytes().all(|byte| byte.is_ascii_digit()));
    if parts.len() != digits.len() || !right {
        return None;
    }
    parts.iter().map(|part| part.parse().ok()).collect()
}

fn is_leap(year: i64) -> bool {
    (year % 4 == 0 && year % 100 != 0) || year % 400 == 0
}

fn month_length(year: i64, month: i64) -> i64 {
    match month {
        2 => 28 + i64::from(is_leap(year)),
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

/// Days from 1 January of the year 1.
fn days_before_year(year: i64) -> i64 {
    let before = year - 1;
    before * 365 + before / 4 - before / 100 + before / 400
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Weekdays known from elsewhere: 1 January 1970 was a Thursday (POSIX.1-2017, 4.16, and its day 0 of the week), 1 March
    /// 2000 a Wednesday and 15 October 1582 a Friday (Meeus, "Astronomical Algorithms", 2nd edition, chapter 7).
    #[test]
    fn weekdays_are_those_of_the_calendar() {
        let shown = |text: &str| LocalDateTime::parse(text).unwrap().to_string();
        assert_eq!(shown("1970-01-01 00:00"), "Thu 1970-01-01 00:00");
        assert_eq!(shown("2000-03-01 12:30"), "Wed 2000-03-01 12:30");
        assert_eq!(shown("1582-10-15T23:59"), "Fri 1582-10-15 23:59");
        assert_eq!(shown("0001-01-01 00:00"), "Mon 0001-01-01 00:00");
        assert_eq!(shown("9999-12-31 23:59"), "Fri 9999-12-31 23:59");
    }

    /// Every 29 February of a leap year and of no other (the rule of the Gregorian calendar, ISO 8601-1, 4.2.1).
    #[test]
    fn what_is_no_date_is_none() {
        for text in ["2026-13-01 10:00", "2026-02-29 10:00", "1900-02-29 10:00", "2026-04-31 10:00", "2026-12-04 24:00"]
        {
            assert_eq!(LocalDateTime::parse(text), None, "{text}");
        }
        for text in [
            "",
            "tomorrow",
            "2026-12-04",
            "4.12.2026 18:00",
            "2026-12-04 18:00:00",
            "+026-12-04 18:00",
            "２026-12-04 18:00",
        ] {
            assert_eq!(LocalDateTime::parse(text), None, "{text}");
        }
        assert!(
            LocalDateTime::parse("2000-02-29 10:00").is_some() && LocalDateTime::parse("2028-02-29 10:00").is_some()
        );
    }

    #[test]
    fn earlier_goes_over_midnight_months_and_years() {
        let hours = |hours: f64| Time::seconds(hours * 3600.0);
        let wanted = LocalDateTime::parse("2028-03-01 06:00").unwrap();
        assert_eq!(wanted.earlier(hours(30.0)).unwrap().to_string(), "Tue 2028-02-29 00:00");
        assert_eq!(wanted.earlier(hours(24.0 * 61.0)).unwrap().to_string(), "Fri 2027-12-31 06:00");
        assert_eq!(LocalDateTime::parse("0001-01-01 01:00").unwrap().earlier(hours(2.0)), None);
        assert_eq!(wanted.earlier(Time::seconds(1.0)).unwrap().to_string(), "Wed 2028-03-01 05:59");
    }
}
