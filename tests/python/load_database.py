"""A bus database, loaded strictly by cantools, and frames decoded by it.

Reads {"database": text, "frames": [[identifier, [byte, ...]], ...]} from standard input.
Writes {"messages": [{"name", "id", "extended", "bytes", "fields": {name: [first bit, bits]}, "numbers": {name: SPN}}, ...],
        "decoded": [{"message", "signals": {name: value}}, ...]}
with values in the unit of their signal and choices by number.
"""

import json
import sys

import cantools


def main():
    question = json.load(sys.stdin)
    database = cantools.database.load_string(question["database"], database_format="dbc", strict=True)

    def described(message):
        return {
            "name": message.name,
            "id": message.frame_id,
            "extended": message.is_extended_frame,
            "bytes": message.length,
            "fields": {signal.name: [signal.start, signal.length] for signal in message.signals},
            "numbers": {signal.name: signal.spn or 0 for signal in message.signals},
        }

    def decoded(identifier, data):
        message = database.get_message_by_frame_id(identifier)
        return {"message": message.name, "signals": message.decode(bytes(data), decode_choices=False)}

    json.dump(
        {
            "messages": [described(message) for message in database.messages],
            "decoded": [decoded(*frame) for frame in question["frames"]],
        },
        sys.stdout,
    )


if __name__ == "__main__":
    main()
