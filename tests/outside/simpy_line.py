#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""A series line of five machines and four bins as a model of SimPy (Debian: python3-simpy3 or python3-simpy).

Written apart from the event engine, for comparison: the same fluid line, exact between events. Each machine has
exponential stops that count its running hours; its repairs are SimPy timeouts; a process of SimPy moves the levels
on to the next bound or failure and is interrupted by the end of a repair (a quarter less time than to wait for the
first of two events). Apart from tonnes and levels it keeps no account.

    simpy_line.py SEED BATCHES BATCH_H

prints one line: tonnes an hour and its standard error by batch means, mean level and standard error of each bin,
simulated hours, events, processor seconds. Ends with 77 when there is no SimPy.
"""
import random
import sys
import time

try:
    import simpy
except ImportError:
    sys.exit(77)

SPEED_TPH = [12.0, 11.0, 10.0, 11.0, 12.0]
BETWEEN_H = 8.0
REPAIR_H = 0.4
BIN_T = 2.5
START_T = 1.25


class Line:
    def __init__(self, env, seed):
        self.env = env
        self.random = random.Random(seed)
        self.level = [START_T] * 4
        self.at = [0] * 4  # -1 empty, 1 full
        self.is_up = [True] * 5
        self.age_left = [self.random.expovariate(1.0 / BETWEEN_H) for _ in SPEED_TPH]
        self.events = 0
        self.out_t = 0.0
        self.level_th = [0.0] * 4
        self.process = env.process(self.run())

    def repair(self, machine):
        yield self.env.timeout(self.random.expovariate(1.0 / REPAIR_H))
        self.is_up[machine] = True
        self.age_left[machine] = self.random.expovariate(1.0 / BETWEEN_H)
        self.process.interrupt()

    def rates(self):
        rate = [s if up else 0.0 for s, up in zip(SPEED_TPH, self.is_up)]
        changed = True
        while changed:
            changed = False
            for b, at in enumerate(self.at):
                if at < 0 and rate[b + 1] > rate[b]:
                    rate[b + 1] = rate[b]
                    changed = True
                elif at > 0 and rate[b] > rate[b + 1]:
                    rate[b] = rate[b + 1]
                    changed = True
        return rate

    def next_event(self, rate):
        soonest, what = float("inf"), None
        for b in range(4):
            net = rate[b] - rate[b + 1]
            if net > 0.0:
                hours = (BIN_T - self.level[b]) / net
            elif net < 0.0:
                hours = self.level[b] / -net
            else:
                continue
            if hours < soonest:
                soonest, what = hours, ("bin", b, 1 if net > 0.0 else -1)
        for m in range(5):
            if rate[m] > 0.0:
                hours = self.age_left[m] * SPEED_TPH[m] / rate[m]
                if hours < soonest:
                    soonest, what = hours, ("fail", m, 0)
        return soonest, what

    def move(self, rate, hours):
        for b in range(4):
            net = rate[b] - rate[b + 1]
            self.level_th[b] += (self.level[b] + 0.5 * net * hours) * hours
            self.level[b] += net * hours
        for m in range(5):
            self.age_left[m] -= hours * rate[m] / SPEED_TPH[m]
        self.out_t += rate[4] * hours

    def run(self):
        while True:
            rate = self.rates()
            for b in range(4):
                if self.at[b] * (rate[b] - rate[b + 1]) < 0.0:
                    self.at[b] = 0
            soonest, what = self.next_event(rate)
            began = self.env.now
            is_woken = False
            try:
                yield self.env.event() if what is None else self.env.timeout(max(soonest, 0.0))
            except simpy.Interrupt:
                is_woken = True
            self.events += 1
            hours = self.env.now - began
            self.move(rate, hours)
            if is_woken:
                continue
            kind, which, side = what
            if kind == "bin":
                self.level[which] = BIN_T if side > 0 else 0.0
                self.at[which] = side
            else:
                self.is_up[which] = False
                self.env.process(self.repair(which))


def main():
    seed, batches, batch_h = int(sys.argv[1]), int(sys.argv[2]), float(sys.argv[3])
    began_s = time.process_time()
    env = simpy.Environment()
    line = Line(env, seed)
    env.run(until=batch_h)  # to warm up
    samples = []
    for batch in range(batches):
        # what an event in progress has moved is counted where it ends: at most minutes at a batch's bounds
        out_t, level_th = line.out_t, list(line.level_th)
        env.run(until=batch_h * (batch + 2))
        samples.append([(line.out_t - out_t) / batch_h] + [(x - y) / batch_h for x, y in zip(line.level_th, level_th)])
    seconds = time.process_time() - began_s
    words = []
    for values in zip(*samples):
        mean = sum(values) / batches
        variance = sum((v - mean) ** 2 for v in values) / (batches - 1)
        words += ["%.9g" % mean, "%.9g" % (variance / batches) ** 0.5]
    print(" ".join(words + ["%.9g" % (batch_h * (batches + 1)), str(line.events), "%.9g" % seconds]))


if __name__ == "__main__":
    main()
