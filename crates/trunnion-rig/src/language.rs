//! What the two small languages, [scenarios](crate::scenario) and [formulas](crate::requirement), share:
//! places in a text, exact decimals, units, words, and complaints that point at what is wrong.

mod complaint;
mod cursor;
mod decimal;
mod lexer;
mod nearest;
mod quantity;
mod source;
mod symbols;
mod unit;

pub use complaint::{Complaint, Complaints};
pub(crate) use cursor::Cursor;
pub use decimal::Decimal;
pub(crate) use lexer::{Lexer, Token, TokenKind};
pub(crate) use nearest::nearest;
pub use quantity::Quantity;
pub use source::{Span, Spanned};
pub use symbols::Dimension;
pub(crate) use unit::Factor;
pub use unit::Unit;
