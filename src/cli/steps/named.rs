//! Values for the argument parser: those of the library that have names, with a line of help for each, and numbers that
//! have limits.

use std::error::Error;
use std::ops::RangeInclusive;

use clap::ValueEnum;
use clap::builder::PossibleValue;

use crate::image::{Clash, Order};
use crate::sums::Complement;
use crate::values::BadValue;

impl ValueEnum for Clash {
    fn value_variants<'a>() -> &'a [Self] {
        &Self::ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        named(
            self,
            match self {
                Clash::Refuse => "Any overlap is an error",
                Clash::Same => "Equal bytes may overlap, different ones are an error",
                Clash::First => "The bytes loaded first stay",
                Clash::Last => "The bytes loaded last replace them",
            },
        )
    }
}

impl ValueEnum for Order {
    fn value_variants<'a>() -> &'a [Self] {
        &Self::ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        named(
            self,
            match self {
                Order::Little => "Low byte first",
                Order::Big => "High byte first",
            },
        )
    }
}

impl ValueEnum for Complement {
    fn value_variants<'a>() -> &'a [Self] {
        &Self::ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        named(
            self,
            match self {
                Complement::Ones => "Every bit inverted",
                Complement::Twos => "Zero minus the sum",
            },
        )
    }
}

/// Reads a small decimal number that has limits, such as a width in bytes.
pub fn within(
    limits: RangeInclusive<u8>,
) -> impl Fn(&str) -> Result<u8, Box<dyn Error + Send + Sync>> + Clone {
    move |text| {
        let number: i64 = text.parse()?;
        let fits = u8::try_from(number).ok().filter(|n| limits.contains(n));
        let (least, most) = (limits.start(), limits.end());
        let outside = || {
            let to = if most - least == 1 { "or" } else { "to" };
            let advice = format!("use {least} {to} {most}");
            BadValue::new(format!("`{number}` is not possible here"), advice)
        };
        Ok(fits.ok_or_else(outside)?)
    }
}

fn named(value: &impl ToString, help: &'static str) -> Option<PossibleValue> {
    Some(PossibleValue::new(value.to_string()).help(help))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The parser and the library read the same words.
    fn parsed<T: ValueEnum + std::str::FromStr + PartialEq>() -> bool {
        T::value_variants().iter().all(|value| {
            let word = value.to_possible_value().unwrap();
            word.get_name()
                .parse::<T>()
                .is_ok_and(|parsed| parsed == *value)
        })
    }

    #[test]
    fn each_value_has_one_name() {
        assert!(parsed::<Clash>() && parsed::<Order>() && parsed::<Complement>());
    }
}
