//! A machine's bus for ordinary CAN tools: frames as lines of text over TCP, and as log files.
//!
//! | module | what it speaks |
//! |---|---|
//! | [`line`](mod@line) | frames and commands of a serial CAN adaptor ("SLCAN"), one a line |
//! | [`port`] | such lines over TCP, any number of tools on one bus |
//! | [`bridge`] | the bus on another one as well: SocketCAN, a serial adaptor |
//! | [`log`] | the log format of Linux's `candump -L` |

pub mod bridge;
pub mod line;
pub mod log;
pub mod port;
