//! Lines of a serial CAN adaptor over TCP: any number of tools on one bus.
//!
//! Each tool hears what the machine sends and what the other tools send, as on a bus. A tool that does not read is cut
//! off rather than waited for: the machine's time does not depend on it.

use std::io::{self, Read, Write};
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener, TcpStream};
use std::sync::mpsc::{Receiver, Sender, SyncSender, TrySendError, channel, sync_channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;

use trunnion_can::frame::Frame;

use super::line::{DONE, Line, Lines, REFUSED, written};

/// Lines that wait for a slow tool before it is cut off: about four seconds of a full bus.
const PATIENCE: usize = 8_192;

/// Where a [`Port`] listens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// This computer only.
    Loopback,
    /// Whoever reaches this computer: for a closed bench network only.
    Network,
}

/// A tool that takes part.
struct Tool {
    number: u64,
    lines: SyncSender<String>,
}

type Tools = Arc<Mutex<Vec<Tool>>>;

/// A bus behind a TCP port.
pub struct Port {
    address: SocketAddr,
    tools: Tools,
    received: Receiver<Frame>,
}

impl std::fmt::Debug for Port {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.debug_struct("Port").field("address", &self.address).finish_non_exhaustive()
    }
}

impl Port {
    /// Listens on a port; 0 takes any that is free.
    pub fn open(reach: Reach, number: u16) -> io::Result<Self> {
        let ip = match reach {
            Reach::Loopback => Ipv4Addr::LOCALHOST,
            Reach::Network => Ipv4Addr::UNSPECIFIED,
        };
        let listener = TcpListener::bind(SocketAddr::new(IpAddr::V4(ip), number))?;
        let address = listener.local_addr()?;
        let tools = Tools::default();
        let (to_machine, received) = channel();
        let joining = Arc::clone(&tools);
        thread::Builder::new().name("bus port".to_owned()).spawn(move || {
            for (number, stream) in (0..).zip(listener.incoming()) {
                if let Ok(stream) = stream {
                    // A tool that goes before it came is no trouble of ours.
                    let _ = welcome(number, stream, &joining, &to_machine);
                }
            }
        })?;
        Ok(Self { address, tools, received })
    }

    /// Where it listens.
    pub const fn address(&self) -> SocketAddr {
        self.address
    }

    /// Gives the machine's frame to all tools.
    pub fn send(&self, frame: &Frame) {
        share(&self.tools, None, &written(frame));
    }

    /// The next frame that a tool has sent.
    pub fn receive(&self) -> Option<Frame> {
        self.received.try_recv().ok()
    }

    /// How many tools take part now.
    pub fn tools(&self) -> usize {
        self.tools.lock().unwrap_or_else(PoisonError::into_inner).len()
    }
}

/// Gives a line to every tool but the one that sent it; cuts off who does not read.
fn share(tools: &Tools, from: Option<u64>, line: &str) {
    let mut tools = tools.lock().unwrap_or_else(PoisonError::into_inner);
    tools.retain(|tool| {
        Some(tool.number) == from
            || !matches!(
                tool.lines.try_send(line.to_owned()),
                Err(TrySendError::Full(_) | TrySendError::Disconnected(_))
            )
    });
}

fn welcome(number: u64, stream: TcpStream, tools: &Tools, to_machine: &Sender<Frame>) -> io::Result<()> {
    stream.set_nodelay(true)?;
    let (lines, to_write) = sync_channel::<String>(PATIENCE);
    let writer = stream.try_clone()?;
    thread::Builder::new()
        .name(format!("tool {number}, out"))
        .spawn(move || write_lines(writer, &to_write))?;
    let guest = Guest { number, lines, tools: Arc::clone(tools), to_machine: to_machine.clone() };
    thread::Builder::new().name(format!("tool {number}, in")).spawn(move || guest.listen(stream))?;
    Ok(())
}

fn write_lines(mut stream: TcpStream, lines: &Receiver<String>) {
    while let Ok(line) = lines.recv() {
        if stream.write_all(line.as_bytes()).is_err() {
            return;
        }
    }
    // Its sender is gone: the tool left, or was cut off.
    let _ = stream.shutdown(std::net::Shutdown::Both);
}

struct Guest {
    number: u64,
    lines: SyncSender<String>,
    tools: Tools,
    to_machine: Sender<Frame>,
}

impl Guest {
    fn listen(self, mut stream: TcpStream) {
        let mut lines = Lines::default();
        let mut bytes = [0; 4096];
        while let Ok(count @ 1..) = stream.read(&mut bytes) {
            for line in lines.take(bytes.get(..count).unwrap_or_default()) {
                if !self.answer(line) {
                    self.leave();
                    return;
                }
            }
        }
        self.leave();
    }

    /// Does what a line says; false when the tool does not take its answer.
    fn answer(&self, line: Line) -> bool {
        let answer = match line {
            Line::Frame(frame) => {
                share(&self.tools, Some(self.number), &written(&frame));
                if self.to_machine.send(frame).is_err() {
                    return false;
                }
                return true;
            }
            Line::Open => {
                self.join();
                DONE
            }
            Line::Close => {
                self.leave();
                DONE
            }
            Line::Setting | Line::Empty => DONE,
            Line::Version => b"V0100\r".as_slice(),
            Line::Serial => b"N0001\r".as_slice(),
            Line::Status => b"F00\r".as_slice(),
            Line::Unknown => REFUSED,
        };
        self.lines.try_send(String::from_utf8_lossy(answer).into_owned()).is_ok()
    }

    fn join(&self) {
        self.leave();
        let tool = Tool { number: self.number, lines: self.lines.clone() };
        self.tools.lock().unwrap_or_else(PoisonError::into_inner).push(tool);
    }

    fn leave(&self) {
        self.tools.lock().unwrap_or_else(PoisonError::into_inner).retain(|tool| tool.number != self.number);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::{Duration, Instant};
    use trunnion_can::id::Id29;

    fn connect(port: &Port) -> TcpStream {
        let mut stream = TcpStream::connect(port.address()).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(5))).unwrap();
        stream.write_all(b"C\rS5\rO\r").unwrap();
        let mut answers = [0; 3];
        stream.read_exact(&mut answers).unwrap();
        assert_eq!(&answers, b"\r\r\r");
        stream
    }

    fn until<T>(mut ask: impl FnMut() -> Option<T>) -> T {
        let began = Instant::now();
        loop {
            if let Some(found) = ask() {
                return found;
            }
            assert!(began.elapsed() < Duration::from_secs(10), "nothing came");
            thread::sleep(Duration::from_millis(1));
        }
    }

    fn frame(last: u8) -> Frame {
        Frame::group(Id29::from_raw(0x18FE_CA27).unwrap(), [0, 0xFF, 0, 0, 0, 0, 0xFF, last])
    }

    #[test]
    fn each_tool_hears_the_machine_and_the_other_tools() {
        let port = Port::open(Reach::Loopback, 0).unwrap();
        let (mut one, mut two) = (connect(&port), connect(&port));
        port.send(&frame(1));
        let line = written(&frame(1));
        let mut heard = vec![0; line.len()];
        for tool in [&mut one, &mut two] {
            tool.read_exact(&mut heard).unwrap();
            assert_eq!(heard, line.as_bytes());
        }
        one.write_all(written(&frame(2)).as_bytes()).unwrap();
        two.read_exact(&mut heard).unwrap();
        assert_eq!(heard, written(&frame(2)).as_bytes());
        assert_eq!(until(|| port.receive()), frame(2));
    }

    #[test]
    fn a_tool_that_goes_or_does_not_read_is_let_go() {
        let port = Port::open(Reach::Loopback, 0).unwrap();
        let idle = connect(&port);
        drop(connect(&port));
        until(|| (port.tools() <= 1).then_some(()));
        // Far more than the queues of the system and our own hold.
        for _ in 0..400_000 {
            port.send(&frame(3));
            if port.tools() == 0 {
                break;
            }
        }
        assert_eq!(port.tools(), 0);
        drop(idle);
    }
}
