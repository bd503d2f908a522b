//! Two buses made one: what is heard on either goes out on the other.

use std::fmt;
use std::io;
use std::sync::mpsc::{Receiver, channel};
use std::thread;
use std::time::Duration;

use crate::tester::port::Port;

/// So long either bus is listened to before it is the other one's turn.
const TURN: Duration = Duration::from_micros(500);
/// Frames that are taken from one bus before it is the other one's turn, at most.
const BURST: usize = 64;

/// A bus that is on another one as well, until either is gone.
pub struct Bridge {
    ended: Receiver<io::Error>,
}

impl fmt::Debug for Bridge {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.debug_struct("Bridge").finish_non_exhaustive()
    }
}

impl Bridge {
    /// Carries frames between two buses from now on, in a thread of its own.
    ///
    /// # Errors
    /// When there can be no more threads.
    pub fn between(one: Box<dyn Port>, other: Box<dyn Port>) -> io::Result<Self> {
        let (told, ended) = channel();
        thread::Builder::new().name("bridge".to_owned()).spawn(move || {
            let (mut one, mut other) = (one, other);
            // Nobody hears it when the bridge is no longer wanted.
            let _ = told.send(carry(one.as_mut(), other.as_mut()));
        })?;
        Ok(Self { ended })
    }

    /// Why it has ended, if it has and this was not asked before.
    pub fn failure(&self) -> Option<io::Error> {
        self.ended.try_recv().ok()
    }
}

fn carry(one: &mut dyn Port, other: &mut dyn Port) -> io::Error {
    loop {
        if let Err(error) = pass(one, other).and_then(|()| pass(other, one)) {
            return error;
        }
    }
}

fn pass(from: &mut dyn Port, to: &mut dyn Port) -> io::Result<()> {
    for _ in 0..BURST {
        match from.receive(TURN)? {
            Some(frame) => to.send(&frame)?,
            None => break,
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::collections::VecDeque;
    use std::sync::{Arc, Mutex};

    use trunnion_can::frame::Frame;
    use trunnion_can::id::Id29;

    use super::*;

    fn frame(number: u8) -> Frame {
        Frame::group(Id29::from_raw(0x18FE_CA27).unwrap(), [number; 8])
    }

    /// Gives what it has, then nothing, and is gone after so many questions.
    struct Scripted {
        has: VecDeque<Frame>,
        sent: Arc<Mutex<Vec<Frame>>>,
        questions: u32,
    }

    impl Scripted {
        fn new(numbers: std::ops::Range<u8>, questions: u32) -> (Box<Self>, Arc<Mutex<Vec<Frame>>>) {
            let sent = Arc::default();
            let has = numbers.map(frame).collect();
            (Box::new(Self { has, sent: Arc::clone(&sent), questions }), sent)
        }
    }

    impl Port for Scripted {
        fn send(&mut self, frame: &Frame) -> io::Result<()> {
            self.sent.lock().unwrap().push(*frame);
            Ok(())
        }

        fn receive(&mut self, _: Duration) -> io::Result<Option<Frame>> {
            self.questions =
                self.questions.checked_sub(1).ok_or_else(|| io::Error::from(io::ErrorKind::UnexpectedEof))?;
            Ok(self.has.pop_front())
        }
    }

    #[test]
    fn what_is_heard_on_either_bus_goes_out_on_the_other_in_its_order_and_an_end_is_told_once() {
        let ((one, to_one), (other, to_other)) = (Scripted::new(0..100, 300), Scripted::new(100..200, 300));
        let bridge = Bridge::between(one, other).unwrap();
        let mut failure = None;
        for _ in 0..1_000 {
            failure = bridge.failure();
            if failure.is_some() {
                break;
            }
            thread::sleep(Duration::from_millis(5));
        }
        assert_eq!(failure.unwrap().kind(), io::ErrorKind::UnexpectedEof);
        assert!(bridge.failure().is_none());
        assert_eq!(*to_other.lock().unwrap(), (0..100).map(frame).collect::<Vec<_>>());
        assert_eq!(*to_one.lock().unwrap(), (100..200).map(frame).collect::<Vec<_>>());
    }

    #[test]
    fn a_bus_that_is_never_silent_leaves_the_other_its_turn() {
        let ((one, to_one), (other, _)) = (Scripted::new(0..255, 100), Scripted::new(0..1, 100));
        let (mut one, mut other) = (one, other);
        assert_eq!(carry(one.as_mut(), other.as_mut()).kind(), io::ErrorKind::UnexpectedEof);
        assert_eq!(*to_one.lock().unwrap(), [frame(0)]);
    }
}
