//! What is tried.

mod decoders;
mod network;
mod server;
mod service_link;
mod text;
mod transport;

/// A function of bytes that panics when something does not hold.
#[derive(Debug, Clone, Copy)]
pub struct Target {
    /// What it is called.
    pub name: &'static str,
    /// What must hold.
    pub holds: &'static str,
    /// Panics when it does not.
    pub run: fn(&[u8]),
}

/// All targets.
pub const ALL: &[Target] = &[
    Target {
        name: "decoders",
        holds: "what any eight bytes mean survives writing and reading: levers, engine, NAME, lamps, trouble code",
        run: decoders::run,
    },
    Target {
        name: "trouble_list",
        holds: "a list that was read, written anew, reads the same",
        run: decoders::trouble_list,
    },
    Target {
        name: "network",
        holds: "requests and claims of any frames: at most one frame a period, and only an own claim is sent",
        run: network::run,
    },
    Target {
        name: "transport",
        holds: "no message is larger than announced or than the buffer; what is sent arrives whole or not at all",
        run: transport::run,
    },
    Target {
        name: "service_link",
        holds: "no request is larger than the buffer; what a tester sends arrives whole or not at all",
        run: service_link::run,
    },
    Target {
        name: "server",
        holds: "no level opens without a right code over an unused challenge; no parameter changes without a level, rest and neutral",
        run: server::run,
    },
    Target {
        name: "adaptor_lines",
        holds: "a stream is cut into the same lines whatever pieces it comes in; a frame that is read is written the same",
        run: text::adaptor_lines,
    },
    Target {
        name: "log_file",
        holds: "a log that is read is written and read the same",
        run: text::log_file,
    },
];
