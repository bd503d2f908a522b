"""Frames and signals of levers_and_engine.dbc, decoded and encoded by cantools.

Reads {"decode": [[identifier, "16 hex digits"], ...], "encode": [[message, {signal: raw}], ...]} from standard input.
Writes {"signals": {message: [signal, ...]},
        "decoded": [{"message", "priority", "source", "raw": [...], "value": [...]}, ...],
        "encoded": ["16 hex digits", ...]}
with raw and value in the order of the message's signals: the bits as an integer, and the value in its unit.
"""

import json
import pathlib
import sys

import cantools
from cantools.j1939 import frame_id_unpack, pgn_pack

DATABASE = pathlib.Path(__file__).with_name("levers_and_engine.dbc")


def group(identifier):
    parts = frame_id_unpack(identifier)
    specific = parts.pdu_specific if parts.pdu_format >= 240 else 0
    return parts, pgn_pack(parts.reserved, parts.data_page, parts.pdu_format, specific)


def main():
    database = cantools.database.load_file(DATABASE)
    by_group = {group(message.frame_id)[1]: message for message in database.messages}
    question = json.load(sys.stdin)

    def decode(identifier, digits):
        parts, number = group(identifier)
        message = by_group[number]
        data = bytes.fromhex(digits)
        raw = message.decode(data, decode_choices=False, scaling=False)
        value = message.decode(data, decode_choices=False)
        names = [signal.name for signal in message.signals]
        return {
            "message": message.name,
            "priority": parts.priority,
            "source": parts.source_address,
            "raw": [raw[name] for name in names],
            "value": [value[name] for name in names],
        }

    def encode(name, signals):
        return database.get_message_by_name(name).encode(signals, scaling=False, padding=True).hex()

    answer = {
        "signals": {message.name: [signal.name for signal in message.signals] for message in database.messages},
        "decoded": [decode(*frame) for frame in question["decode"]],
        "encoded": [encode(*signals) for signals in question["encode"]],
    }
    json.dump(answer, sys.stdout)


if __name__ == "__main__":
    main()
