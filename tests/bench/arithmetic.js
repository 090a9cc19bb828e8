/** What the pure core costs for each reading: its count of charge, and the run machine's whole step. */

import { addMeasurement, beginStretch, openLedger } from '../../dist/daemon/run/charge.js';
import { step } from '../../dist/daemon/run/machine.js';
import { plannedRun } from '../../dist/daemon/run/state.js';
import { timingFor } from '../../dist/daemon/control/timing.js';
import { demoRecord } from './demo.js';
import { alternately, figure } from './measure.js';

const rounds = 7;
const cycleMs = 250;
const readings = 60_000;
const msPerHour = 3_600_000;

const amps = Float64Array.from({ length: readings }, () => 0.5 + 0.001 * Math.random());

/** A trapezoid loop as anybody would write it, in ns for each reading. */
function plainLoop() {
  // It takes so little that one pass is no more than the clock's own noise.
  const passes = 400;
  let ampHours = 0;
  const startMs = performance.now();
  for (let pass = 0; pass < passes; pass += 1) {
    for (let index = 1; index < readings; index += 1) {
      ampHours += ((amps[index - 1] + amps[index]) / 2) * (cycleMs / msPerHour);
    }
  }
  const spentMs = performance.now() - startMs;
  expectCharge(ampHours / passes);
  return (spentMs * 1e6) / (passes * readings);
}

/** So that nothing is optimised away, and that all count the same. */
function expectCharge(ampHours) {
  const expected = (0.5005 * readings * cycleMs) / msPerHour;
  if (Math.abs(ampHours / expected - 1) > 0.01) throw new Error(`Counted ${ampHours} A·h.`);
}

function ledger() {
  const passes = 5;
  const startMs = performance.now();
  for (let pass = 0; pass < passes; pass += 1) {
    let counted = beginStretch(openLedger(0), 0);
    for (let index = 0; index < readings; index += 1) {
      const atMs = (index + 1) * cycleMs;
      counted = addMeasurement(counted, {
        atMs,
        amps: amps[index],
        setAmps: 0.5,
        gapBoundMs: 1500,
      });
    }
    expectCharge(counted.ampHours);
  }
  return ((performance.now() - startMs) * 1e6) / (passes * readings);
}

/** A run that has just been switched on. */
function switchedOn(plan) {
  let state = plannedRun(plan, timingFor(cycleMs), 0);
  const feed = (input) => {
    const taken = step(state, { atMs: 0, ...input });
    if (taken.refused !== null) throw new Error(taken.refused);
    state = taken.state;
  };
  feed({ kind: 'arm' });
  feed({ kind: 'made-durable' });
  feed({ kind: 'programmed', amps: state.commandedAmps, volts: plan.limits.setVolts });
  feed({ kind: 'start' });
  feed({ kind: 'on-confirmed', sentAtMs: 0 });
  return state;
}

/** Readings that follow what the run asks for, as a sound supply's do. */
function machine(plan) {
  const setVolts = plan.limits.setVolts;
  let state = switchedOn(plan);
  const startMs = performance.now();
  for (let index = 1; index <= readings; index += 1) {
    const atMs = index * cycleMs;
    const reading = {
      atMs,
      volts: 0.8 + amps[index - 1] / 100,
      amps: state.confirmedAmps * (0.5 + amps[index - 1]),
      outputOn: true,
      regulation: 'constantCurrent',
      supplyTrips: [],
      setVolts,
      setAmps: state.confirmedAmps,
      restarted: false,
    };
    const taken = step(state, { kind: 'reading', atMs, reading });
    state = taken.state;
    if (taken.effects.some(({ kind }) => kind === 'program')) {
      const set = { kind: 'programmed', atMs, amps: state.commandedAmps, volts: setVolts };
      state = step(state, set).state;
    }
  }
  const spentMs = performance.now() - startMs;
  if (state.outcome !== null) throw new Error(`The run ended early: ${state.outcome.reason}`);
  return (spentMs * 1e6) / readings;
}

export async function measure() {
  const { plan } = await demoRecord();
  // Several times, for the compiler to come to rest.
  for (let time = 0; time < 4; time += 1) {
    plainLoop();
    ledger();
    machine(plan);
  }
  const charge = await alternately(rounds, { ours: ledger, theirs: plainLoop });
  const whole = await alternately(rounds, { ours: () => machine(plan), theirs: plainLoop });
  return { charge: figure(charge, 'ns', 1), step: figure(whole, 'ns', 1) };
}
