"""python-can hears the bus, cantools reads it."""

import pathlib
import subprocess
import time

import cantools
from cantools.j1939 import frame_id_unpack, pgn_pack

import machine

DATABASE = pathlib.Path(__file__).parents[1] / "levers_and_engine.dbc"


def heard(served, seconds):
    with served.bus() as bus:
        end = time.monotonic() + seconds
        frames = []
        while time.monotonic() < end:
            if (frame := bus.recv(0.05)) is not None:
                frames.append(frame)
        return frames


def group(frame):
    parts = frame_id_unpack(frame.arbitration_id)
    specific = parts.pdu_specific if parts.pdu_format >= 240 else 0
    return pgn_pack(parts.reserved, parts.data_page, parts.pdu_format, specific), parts.source_address


def test_levers_and_engine_are_on_the_bus_in_real_time_and_read_as_neutral_and_running(permitted):
    database = cantools.database.load_file(DATABASE)
    messages = {group_of(message): message for message in database.messages}
    frames = heard(permitted, 2.0)
    assert all(frame.is_extended_id for frame in frames)
    of = {}
    for frame in frames:
        of.setdefault(group(frame), []).append(frame)
    # Every 20 ms: 100 in two seconds. A busy computer may lose some of the time.
    for key in [(0xFDD6, 0x21), (0xFDD6, 0x22), (0xF004, 0x00)]:
        assert 70 <= len(of[key]) <= 110, (key, len(of[key]))
    for source in (0x21, 0x22):
        lever = messages[0xFDD6].decode(bytes(of[(0xFDD6, source)][-1].data), decode_choices=False)
        assert [value for name, value in lever.items() if "position" in name.lower()][:2] == [0, 0], lever
    engine = messages[0xF004].decode(bytes(of[(0xF004, 0)][-1].data), decode_choices=False)
    speed = next(value for name, value in engine.items() if "speed" in name.lower())
    assert 2000 < speed < 3200, engine


def group_of(message):
    parts = frame_id_unpack(message.frame_id)
    specific = parts.pdu_specific if parts.pdu_format >= 240 else 0
    return pgn_pack(parts.reserved, parts.data_page, parts.pdu_format, specific)


def test_the_controller_says_nothing_of_itself_while_nothing_is_wrong(permitted):
    own = [frame for frame in heard(permitted, 1.5) if group(frame)[1] == machine.CONTROLLER]
    assert own == []


def test_droop_asks_the_engine_for_speed_and_permission_that_goes_gives_it_back(engine_loaded, tmp_path):
    subprocess.run([machine.PROGRAM, "papers", "--out", str(tmp_path)], check=True, capture_output=True)
    database = cantools.database.load_file(next(tmp_path.rglob("*.dbc")), strict=True)
    message = next(found for found in database.messages if "TSC1" in found.name)
    frames = [frame for frame in heard(engine_loaded, 12.0) if frame.arbitration_id == message.frame_id]
    assert message.frame_id & 0xFFFF == machine.CONTROLLER, "to the engine at 0, from the controller"
    said = [message.decode(bytes(frame.data), decode_choices=False) for frame in frames]
    name = {key: next(field for field in said[0] if field.endswith(key)) for key in FIELDS}
    asked = [values for values in said if values[name["OverrideControlMode"]] == 1]
    assert len(asked) > 40
    speeds = [values[name["RequestedSpeed"]] for values in asked]
    assert min(speeds) > 1640 and max(speeds) <= 2600, "more than the throttle, at most high idle"
    # The seat's delay of 0.7 s, and a drive that is given back by three messages.
    assert [values[name["OverrideControlMode"]] for values in said[-3:]] == [0, 0, 0]
    counts = [values[name["MessageCounter"]] for values in said]
    assert all(after == (before + 1) % 8 for before, after in zip(counts, counts[1:])), counts
    gaps = [after.timestamp - before.timestamp for before, after in zip(frames, frames[1:])]
    assert sorted(gaps)[len(gaps) // 2] < 0.08, "every 50 ms"
    for frame, values in zip(frames, said):
        total = sum(frame.data[:7]) + values[name["MessageCounter"]] + sum(frame.arbitration_id.to_bytes(4, "big"))
        assert values[name["MessageChecksum"]] == ((total >> 4) + total) & 0x0F


FIELDS = ("OverrideControlMode", "RequestedSpeed", "MessageCounter", "MessageChecksum")
