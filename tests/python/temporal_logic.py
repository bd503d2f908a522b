"""Robustness of signal temporal logic by rtamt (discrete time), and how long that took.

Takes a list of cases: formula in rtamt's words, signals as lists of one sample a tick. Gives for each the robustness at
the first tick, and the seconds that evaluation took in all, parsing not counted.
"""

import json
import sys
import time

import rtamt


def main() -> None:
    values = []
    seconds = 0.0
    for case in json.load(sys.stdin)["cases"]:
        specification = rtamt.StlDiscreteTimeSpecification()
        for name in case["signals"]:
            specification.declare_var(name, "float")
        specification.spec = case["formula"]
        specification.parse()
        length = len(next(iter(case["signals"].values())))
        data = {"time": list(range(length)), **case["signals"]}
        began = time.perf_counter()
        robustness = specification.evaluate(data)
        seconds += time.perf_counter() - began
        value = robustness[0][1]
        # JSON has no infinities.
        values.append(value if abs(value) != float("inf") else None)
    json.dump({"values": values, "seconds": seconds}, sys.stdout)


main()
