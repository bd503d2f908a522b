//! The rest of a controller's board: flash and key for work by ticket, and the queue between bus and station.

mod frame_queue;
mod worker;

pub use frame_queue::{FrameQueue, QUEUE_DEPTH};
pub use worker::Worker;
