use std::fmt;

use super::expression::{Arithmetic, Expression, Node};

/// How tightly a node holds together, from loose to tight. A child that is looser than its place asks for is
/// put in parentheses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Tightness {
    Implication,
    Junction,
    Prefix,
    Comparison,
    Sum,
    Product,
    Edge,
    Primary,
}

impl Expression {
    fn tightness(&self) -> Tightness {
        match &self.node {
            Node::Implies(..) => Tightness::Implication,
            Node::And(_) | Node::Or(_) | Node::Joined(..) => Tightness::Junction,
            Node::Prefix(..) | Node::Not(_) => Tightness::Prefix,
            Node::Comparison { .. } => Tightness::Comparison,
            Node::Arithmetic(Arithmetic::Times, ..) => Tightness::Product,
            Node::Arithmetic(..) => Tightness::Sum,
            Node::Negative(_) => Tightness::Product,
            Node::Edge(..) => Tightness::Edge,
            Node::Truth(_) | Node::Name(_) | Node::Quantity(_) | Node::Call(..) => Tightness::Primary,
        }
    }

    /// True when the text ends in something that an operator over time covers without parentheses, so that
    /// a connective behind it could be read either way.
    fn is_open(&self) -> bool {
        match &self.node {
            Node::Prefix(_, operand) => operand.tightness() >= Tightness::Prefix,
            Node::Not(operand) => operand.tightness() >= Tightness::Prefix && operand.is_open(),
            _ => false,
        }
    }

    fn write(&self, f: &mut fmt::Formatter<'_>, least: Tightness) -> fmt::Result {
        if self.tightness() < least { write!(f, "({self})") } else { write!(f, "{self}") }
    }

    /// Writes an operand of a connective that is not the last thing said.
    fn write_operand(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.is_open() { write!(f, "({self})") } else { self.write(f, Tightness::Prefix) }
    }
}

fn write_chain(f: &mut fmt::Formatter<'_>, operands: &[Expression], word: &str) -> fmt::Result {
    for (position, operand) in operands.iter().enumerate() {
        if position > 0 {
            write!(f, " {word} ")?;
        }
        operand.write_operand(f)?;
    }
    Ok(())
}

fn write_call(f: &mut fmt::Formatter<'_>, word: &str, operands: &[Expression]) -> fmt::Result {
    write!(f, "{word}(")?;
    for (position, operand) in operands.iter().enumerate() {
        write!(f, "{}{operand}", if position > 0 { ", " } else { "" })?;
    }
    f.write_str(")")
}

impl Expression {
    /// How tight the right operand of a difference or product has to be to stand without parentheses.
    fn tightness_on_the_right(&self) -> Tightness {
        match self.tightness() {
            Tightness::Sum => Tightness::Product,
            _ => Tightness::Primary,
        }
    }
}

impl fmt::Display for Expression {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.node {
            Node::Truth(value) => write!(f, "{value}"),
            Node::Name(name) => f.write_str(name),
            Node::Quantity(quantity) => write!(f, "{quantity}"),
            Node::Negative(operand) => {
                f.write_str("-")?;
                operand.write(f, Tightness::Primary)
            }
            Node::Arithmetic(sign, left, right) => {
                left.write(f, self.tightness())?;
                write!(f, " {} ", sign.sign())?;
                right.write(f, self.tightness_on_the_right())
            }
            Node::Call(function, operands) => write_call(f, function.word(), operands),
            Node::Comparison { relation, left, right, tolerance } => {
                left.write(f, Tightness::Sum)?;
                write!(f, " {} ", relation.sign())?;
                right.write(f, Tightness::Sum)?;
                if let Some(tolerance) = tolerance {
                    f.write_str(" ± ")?;
                    tolerance.write(f, Tightness::Sum)?;
                }
                Ok(())
            }
            Node::Edge(edge, operand) => {
                operand.write(f, Tightness::Primary)?;
                write!(f, " {}", edge.word())
            }
            Node::Not(operand) => {
                f.write_str("not ")?;
                operand.write(f, Tightness::Prefix)
            }
            Node::And(operands) => write_chain(f, operands, "and"),
            Node::Or(operands) => write_chain(f, operands, "or"),
            Node::Implies(left, right) => {
                if left.is_open() { write!(f, "({left})") } else { left.write(f, Tightness::Junction) }?;
                f.write_str(" implies ")?;
                right.write(f, Tightness::Junction)
            }
            Node::Prefix(prefix, operand) => {
                write!(f, "{prefix} ")?;
                operand.write(f, Tightness::Prefix)
            }
            Node::Joined(join, bound, left, right) => {
                left.write_operand(f)?;
                write!(f, " {} ", join.word())?;
                if let Some(bound) = bound {
                    write!(f, "within {bound} ")?;
                }
                right.write_operand(f)
            }
        }
    }
}
