"""python-can hears the bus, cantools reads it."""

import pathlib
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
