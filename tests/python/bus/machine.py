"""A machine that is served on a port, and the tools that talk to it: none of them was written here.

Environment: TRUNNION_PROGRAM is the machine's desk program, TRUNNION_FIRMWARE an image that answers beside the host's
own copy (each bit is compared before a tool hears it).
"""

import csv
import hashlib
import hmac
import io
import os
import pathlib
import re
import signal
import struct
import subprocess
import threading
import time
import warnings

import can
import isotp
import j1939
import udsoncan
from udsoncan.client import Client
from udsoncan.connections import PythonIsoTpConnection

HERE = pathlib.Path(__file__).parent
PROGRAM = os.environ["TRUNNION_PROGRAM"]
FIRMWARE = os.environ.get("TRUNNION_FIRMWARE", "")

CONTROLLER = 0x27
TOOL = 0xF9
KEY = b"simulated Q36, key of no machine"
TOO_SLOW = re.compile(r"this computer is too slow for real time: \S+ were left out\n")
COMMIT = 0x0201
DISCARD = 0x0202
FREEZE_BOX = 0x0203
ARM_BOX = 0x0204


def sheet(which):
    """A sheet of the declaration, as rows."""
    text = subprocess.run([PROGRAM, "sheet", which, "--format", "csv"], check=True, capture_output=True, text=True)
    return list(csv.DictReader(io.StringIO(text.stdout)))


class Served:
    """The machine in a process of its own."""

    def __init__(self, scenario):
        words = [PROGRAM, "serve", str(HERE / f"{scenario}.scenario"), "--seconds", "180"]
        if FIRMWARE:
            words += ["--firmware", FIRMWARE]
        # A group of its own: the emulator ends with it.
        self.process = subprocess.Popen(
            words, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, start_new_session=True
        )
        first = self.process.stdout.readline()
        found = re.fullmatch(r"listening on (\S+)\n", first)
        assert found, f"the machine said: {first}{self.process.stdout.read()}"
        self.channel = f"socket://{found.group(1)}"
        self.started = time.monotonic()
        self.said = []
        self.reader = threading.Thread(target=lambda: self.said.extend(self.process.stdout), daemon=True)
        self.reader.start()

    def wait_until(self, seconds):
        """Until so many seconds after the start."""
        time.sleep(max(0.0, self.started + seconds - time.monotonic()))

    def bus(self):
        return can.Bus(interface="slcan", channel=self.channel, sleep_after_open=0.05, bitrate=250_000)

    def kill(self):
        os.killpg(self.process.pid, signal.SIGKILL)

    def end(self):
        """Ends it; it must still have been running, and have nothing to complain about.

        That the computer was busy with other things for a moment says nothing of the machine, and is told as a warning.
        """
        running = self.process.poll() is None
        self.kill()
        self.process.wait()
        self.reader.join(5)
        for line in filter(TOO_SLOW.match, self.said):
            warnings.warn(line.strip(), stacklevel=2)
        said = "".join(line for line in self.said if not (line.startswith(" ") or TOO_SLOW.match(line)))
        assert running, f"the machine ended by itself: {said}"
        return said


class Word(udsoncan.DidCodec):
    """A parameter: four bytes with sign."""

    def encode(self, value):
        return struct.pack(">i", value)

    def decode(self, payload):
        return struct.unpack(">i", payload)[0]

    def __len__(self):
        return 4


class Text(udsoncan.DidCodec):
    """A text to the end of the answer."""

    def decode(self, payload):
        return payload.decode("ascii")

    def __len__(self):
        raise udsoncan.DidCodec.ReadAllRemainingData


class Value(udsoncan.DidCodec):
    """A signal as a row of the sheet of identifiers has it: a raw number, or the name of a choice."""

    def __init__(self, row):
        self.size, self.signed = int(row["bytes"]), row["signed"] == "yes"
        self.choices = choices(row)

    def decode(self, payload):
        raw = int.from_bytes(payload, "big", signed=self.signed)
        return self.choices[raw] if self.choices else raw

    def __len__(self):
        return self.size


class Scanner:
    """udsoncan over can-isotp over python-can, on a connection of its own."""

    def __init__(self, served, source=TOOL, timeout=2.0):
        self.bus = served.bus()
        self.notifier = can.Notifier(self.bus, [])
        addressing = isotp.AddressingMode.NormalFixed_29bits
        address = isotp.Address(addressing, target_address=CONTROLLER, source_address=source)
        self.stack = isotp.NotifierBasedCanStack(self.bus, self.notifier, address=address)
        config = dict(udsoncan.configs.default_client_config)
        config.update(
            # With the answers "pending" of a commit, which tells the board every parameter.
            request_timeout=4 * timeout,
            p2_timeout=timeout,
            use_server_timing=False,
            security_algo=lambda level, seed, params=None: code(seed, (level + 1) // 2),
            data_identifiers={"default": Word(), **{did: Text() for did in (0xF188, 0xF18A, 0xF18C, 0xF195, 0xF197)}},
        )
        self.client = Client(PythonIsoTpConnection(self.stack), config=config)
        self.client.open()

    def close(self):
        self.client.close()
        self.notifier.stop()
        self.bus.shutdown()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()

    def unlock(self, level=1):
        """The extended session and a level: 1 to tune, 2 for safety."""
        self.client.change_session(udsoncan.services.DiagnosticSessionControl.Session.extendedDiagnosticSession)
        self.client.unlock_security_access(2 * level - 1)

    def read(self, did):
        return self.client.read_data_by_identifier_first(did)

    def signal(self, name):
        """A signal by its name in the declaration."""
        did = PLACES[name]
        self.client.config["data_identifiers"][did] = Value(IDENTIFIERS[did])
        return self.read(did)

    def routine(self, sub, number):
        """What a routine says: its progress, and two numbers that it found."""
        return self.report(sub, number)[:3]

    def report(self, sub, number):
        """All that a routine says: progress, three numbers, reason, step."""
        answer = self.client.routine_control(number, sub).service_data.routine_status_record
        return struct.unpack(">BhhhBB", answer)


def refusal(ask):
    """The negative response code that a request meets."""
    try:
        ask()
    except udsoncan.exceptions.NegativeResponseException as error:
        return error.response.code
    raise AssertionError("it was not refused")


def code(seed, level):
    """The code that belongs to a challenge (RFC 2104 with SHA-256, first half)."""
    return hmac.new(KEY, bytes(seed) + bytes([level]), hashlib.sha256).digest()[:16]


def choices(row):
    """The names of a choice, written `0 no, 1 yes`; none for a number."""
    if row["value"].startswith("raw"):
        return []
    return [choice.split(" ", 1)[1] for choice in row["value"].split(", ")]


def scale(row):
    """Numerator and denominator of a number, written `raw × 3 / 8 rpm`."""
    found = re.match(r"raw(?: × (\d+))?(?: / (\d+))?", row["value"])
    return tuple(int(group or 1) for group in found.groups())


READ = ("parameter", "internal point", "input", "output")
IDENTIFIERS = {int(row["identifier"], 16): row for row in sheet("identifiers") if row["kind"] in READ}
PLACES = {row["name"]: did for did, row in IDENTIFIERS.items()}


class Station:
    """can-j1939 with an address of its own, on a connection of its own."""

    def __init__(self, served, address=TOOL):
        self.ecu = j1939.ElectronicControlUnit()
        self.ecu.connect(interface="slcan", channel=served.channel, sleep_after_open=0.05, bitrate=250_000)
        name = j1939.Name(identity_number=77, manufacturer_code=0x7FF, industry_group=0)
        self.application = self.ecu.add_ca(name=name, device_address=address)
        self.messages = []
        self.acknowledged = []
        self.ecu.subscribe(self._message)
        self.application.start()
        wait_for(lambda: self.application.state == j1939.ControllerApplication.State.NORMAL, 3)

    def _message(self, priority, pgn, source, timestamp, data):
        if source == CONTROLLER:
            self.messages.append((pgn, bytes(data)))

    def ask(self, pgn, destination=CONTROLLER, patience=3.0):
        """Asks for a group and gives what comes of it: the group, or the answer that it cannot."""
        before = len(self.messages)
        self.application.send_request(0, pgn, destination)

        def answer():
            fresh = self.messages[before:]
            return next((message for message in fresh if message[0] in (pgn, 0xE800)), None)

        return wait_for(answer, patience)

    def close(self):
        self.application.stop()
        self.ecu.disconnect()
        self.ecu.stop()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()


def wait_for(ask, seconds):
    """What `ask` gives as soon as it is something; fails when it never is."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if found := ask():
            return found
        time.sleep(0.005)
    raise AssertionError(f"nothing within {seconds} s")
