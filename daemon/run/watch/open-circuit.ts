/** Open circuit: voltage stands at its cap while almost no current flows. */

import { amps, settlingMs, standing, volts, type WatchRule } from './rule.ts';

const holdMs = 1_500;

export const openCircuit: WatchRule = {
  code: 'openCircuit',
  judge(memory, view) {
    const { reading, leastSetAmps: setAmps, setVolts, stepAmps } = view;
    const floor = Math.max(0.05 * setAmps, 2 * stepAmps);
    const open =
      view.onForMs >= settlingMs &&
      setAmps > 4 * stepAmps &&
      reading.amps < floor &&
      reading.volts > 0.9 * setVolts;
    return standing(
      memory,
      view,
      holdMs,
      open
        ? `${amps(reading.amps)} flows at ${volts(reading.volts)}, where ${amps(setAmps)} was asked for.`
        : null,
    );
  },
};
