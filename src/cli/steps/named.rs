//! Values of the library that options name: their words for the argument parser, and one line of help for each.

use clap::ValueEnum;
use clap::builder::PossibleValue;

use crate::image::{Clash, Order};
use crate::sums::Complement;

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
