/** A bath of copper sulfate and a tank as the tests of the Plan page use it. */

import type { Bath } from '../../daemon/chemistry/model.ts';
import type { TankFacts } from '../../daemon/run/model.ts';

export const acidCopper: Bath = {
  id: 'acid-copper-still',
  name: 'Acid copper, still',
  metal: 'copper-II',
  agitation: 'still',
  window: { minAmpsPerDm2: 0.5, typicalAmpsPerDm2: 1.3, maxAmpsPerDm2: 2, source: 'test' },
  efficiency: { value: 0.985, uncertainty: 0.015, source: 'test' },
  temperature: { minCelsius: 18, maxCelsius: 28, source: 'test' },
  conductivity: { siemensPerMetre: 15, source: 'test' },
  loading: { maxAmpsPerLitre: 0.5, source: 'test' },
  notes: [],
};

export const tank: TankFacts = {
  id: 'beaker',
  name: 'Beaker',
  volumeLitres: 2.5,
  anodeAreaDm2: 2,
  simulated: true,
  maxAmps: 3,
  maxVolts: 6,
  maxHours: 40,
  supply: {
    minAmps: 0,
    maxAmps: 5,
    stepAmps: 0.001,
    maxVolts: 30,
    stepVolts: 0.001,
    meterUncertainty: 0.01,
    overVoltageLevel: true,
    overCurrentLevel: true,
  },
};
