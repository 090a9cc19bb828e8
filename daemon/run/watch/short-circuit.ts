/** Short circuit: current flows with almost no voltage, or the resistance collapses within seconds. */

import { amps, settlingMs, standing, volts, type Judgement, type WatchRule } from './rule.ts';

const holdMs = 1_500;
/**
 * Below this no cell carries its current. A strike at low density may need only some 20 mV, and a
 * meter may show steps of 10 mV; leads and clips that short it hold a few hundredths of an ohm.
 * (From memory of bench practice; to be checked against real cells.)
 */
const floorVolts = 0.008;
const floorOhms = 0.02;
/** The slow means of resistance and voltage follow an area that grows and a current that ramps, not a short. */
const meanMs = 15_000;
const collapse = 0.25;

/** Below this voltage only metal carries such a current, V. */
export function shortedBelowVolts(flowingAmps: number): number {
  return floorVolts + floorOhms * flowingAmps;
}

/** Whether a meter with such steps cannot tell a short from a large bare piece at this current. */
export function tooCoarseForShort(flowingAmps: number, stepVolts: number): boolean {
  return shortedBelowVolts(flowingAmps) < 2 * stepVolts;
}

export const shortCircuit: WatchRule = {
  code: 'shortCircuit',
  judge(memory, view): Judgement {
    const { reading, leastSetAmps: setAmps, stepAmps } = view;
    const carrying = reading.amps > 0.5 * setAmps && reading.amps > 4 * stepAmps;
    if (!carrying || view.onForMs < settlingMs) {
      return { memory: { ...memory, sinceMs: null }, found: null };
    }
    const ohms = reading.volts / reading.amps;
    const mean = memory.mark;
    // Covering paint may lower the resistance fast; at a strike's low current a short shows by the floor.
    // A set-point that jumps up lowers the resistance too, by the kinetics; but never the voltage.
    const collapsed =
      !view.striking &&
      mean > 0 &&
      ohms < collapse * mean &&
      reading.volts < collapse * memory.level;
    const floor = shortedBelowVolts(reading.amps);
    const short = reading.volts < floor || collapsed;
    const judged = standing(
      memory,
      view,
      holdMs,
      short ? `${amps(reading.amps)} flows at only ${volts(reading.volts)}.` : null,
    );
    if (short) return judged;
    const sinceLastMs = memory.count === 0 ? 0 : reading.atMs - memory.count;
    const weight = mean === 0 ? 1 : Math.min(1, Math.max(0, sinceLastMs) / meanMs);
    return {
      memory: {
        ...judged.memory,
        mark: mean + weight * (ohms - mean),
        level: memory.level + weight * (reading.volts - memory.level),
        count: reading.atMs,
      },
      found: null,
    };
  },
};
