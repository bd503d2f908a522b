//! What the two small languages, [scenarios](crate::scenario) and [formulas](crate::requirement), share:
//! places in a text, exact decimals, units, words, and complaints that point at what is wrong.

mod complaint;
mod decimal;
mod lexer;
mod nearest;
mod source;
mod unit;

pub use complaint::{Complaint, Complaints};
pub use decimal::Decimal;
pub(crate) use lexer::{Lexer, Token, TokenKind};
pub(crate) use nearest::nearest;
pub use source::{Span, Spanned};
pub(crate) use unit::Factor;
pub use unit::{Dimension, Quantity, Unit};
