"""Answers for step responses and digital filters, computed by scipy.signal.

Reads {"questions": [...]} from standard input and writes {"answers": [...]} in the same order.

kind "step"         numerator, denominator, period, count
                    -> "response": the unit step response of the transfer function at 0, period, 2*period, ...
kind "held"         numerator, denominator, period, count
                    -> "numerator", "denominator": the zero-order-hold equivalent; "response": its step response
kind "butterworth"  order, cutoff_hz, sample_hz, count
                    -> the same three for the digital low-pass filter
"""

import json
import sys

import numpy
from scipy import signal


def step(question):
    times = numpy.arange(question["count"]) * question["period"]
    system = (question["numerator"], question["denominator"])
    _, response = signal.step(system, T=times)
    return {"response": response.tolist()}


def held(question):
    system = (question["numerator"], question["denominator"])
    numerator, denominator, _ = signal.cont2discrete(system, question["period"], method="zoh")
    return digital(numerator.flatten(), denominator, question["count"])


def butterworth(question):
    numerator, denominator = signal.butter(question["order"], question["cutoff_hz"], fs=question["sample_hz"])
    return digital(numerator, denominator, question["count"])


def digital(numerator, denominator, count):
    response = signal.lfilter(numerator, denominator, numpy.ones(count))
    return {
        "numerator": numerator.tolist(),
        "denominator": denominator.tolist(),
        "response": response.tolist(),
    }


KINDS = {"step": step, "held": held, "butterworth": butterworth}


def main():
    questions = json.load(sys.stdin)["questions"]
    json.dump({"answers": [KINDS[question["kind"]](question) for question in questions]}, sys.stdout)


if __name__ == "__main__":
    main()
