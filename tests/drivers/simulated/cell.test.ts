/** The cell against closed forms and handbook figures; the source stands beside each check. */

import { describe, expect, it } from 'vitest';
import {
  bathOhms,
  Cell,
  defaultCell,
  scaledOverpotential,
  type CellFaults,
  type CellPoint,
} from '../../../drivers/simulated/cell.ts';
import type { SimulatedPaint } from '../../../drivers/simulated/model.ts';
import { quiet, Talk } from './harness.ts';

const sound: CellFaults = {
  extraContactOhms: 0,
  shortOhms: null,
  open: false,
  emfVolts: 0,
  filmOhms: 0,
};
/** RT/F at 298.15 K, V, from the exact constants of the SI since 2019. */
const thermalVolts = (8.31446261815324 * 298.15) / 96485.33212331;

function point(): CellPoint {
  return { volts: 0, amps: 0, cellAmps: 0 };
}

function hoursUntilCovered(paint: SimulatedPaint, amps: number): number {
  const cell = new Cell({ ...defaultCell, paint });
  for (let seconds = 0; seconds < 12 * 3600; seconds += 10) {
    cell.age(amps * seconds);
    if (cell.coveredFraction >= 1) return seconds / 3600;
  }
  return Number.POSITIVE_INFINITY;
}

/** Charge of a current that settles first-order with time constant tau, C. */
function closedForm(amps: number, seconds: number, tau = 0.025): number {
  return amps * (seconds - tau * (1 - Math.exp(-seconds / tau)));
}

function night(pollsMs: readonly number[]) {
  const talk = new Talk({
    personality: 'scpi-subsystem',
    cell: { paint: 'graphite' },
    latencyMs: 0,
  });
  talk.tell('VOLT 0.6', 'CURR 0.09', 'OUTP ON');
  for (const atMs of pollsMs) {
    talk.instrument.receive('MEAS:CURR?\n', atMs);
    talk.instrument.take(atMs);
  }
  talk.instrument.receive('CURR 0.3\n', 1_200_000.5);
  const { chargeCoulombs, coveredFraction, volts } = talk.instrument.truth(2_000_000);
  return { chargeCoulombs, coveredFraction, volts };
}

describe('the bath between the electrodes', () => {
  it('is d / (kappa A) between facing plates', () => {
    // Ohm's law: 10 cm, 15 S/m, 1 dm2 give 0.667 ohm, so 1.5 A/dm2 drops 1.0 V.
    const options = { ...defaultCell, geometry: 'plates', distanceMm: 100 } as const;
    expect(bathOhms(options, 1) * 1.5).toBeCloseTo(1, 12);
    expect(bathOhms(options, 0.3)).toBeCloseTo(0.1 / (15 * 0.003), 12);
    expect(bathOhms({ ...options, distanceMm: 50 }, 1) * 1.5).toBeCloseTo(0.5, 12);
  });

  it('is the spreading resistance 1 / (4 pi kappa r) around a ball far from the anode', () => {
    // Ball of 1 cm radius in 15 S/m: 0.5305 ohm (potential of a charged sphere).
    const areaDm2 = 4 * Math.PI * 0.1 * 0.1;
    const far = { ...defaultCell, geometry: 'ball', distanceMm: 1e7 } as const;
    expect(bathOhms(far, areaDm2)).toBeCloseTo(1 / (4 * Math.PI * 15 * 0.01), 5);
    // Concentric spheres: the outer one takes away its own share.
    const near = { ...defaultCell, geometry: 'ball', distanceMm: 10 } as const;
    expect(bathOhms(near, areaDm2)).toBeCloseTo(1 / (4 * Math.PI * 15 * 0.01) / 2, 12);
  });
});

describe('the kinetics', () => {
  it('solve Butler-Volmer over ten decades', () => {
    for (let exponent = -6; exponent <= 4; exponent += 0.25) {
      const ratio = 10 ** exponent;
      for (const [forward, backward] of [
        [0.5, 1.5],
        [1.5, 0.5],
        [1, 1],
      ] as const) {
        const x = scaledOverpotential(ratio, forward, backward);
        const back = Math.exp(forward * x) - Math.exp(-backward * x);
        expect(Math.abs(back - ratio)).toBeLessThan(1e-9 * ratio + 1e-14);
      }
    }
  });

  it('invert to asinh where both transfer coefficients are equal', () => {
    expect(scaledOverpotential(7, 0.5, 0.5)).toBeCloseTo(2 * Math.asinh(3.5), 12);
  });

  it.each([
    // Overpotentials at i0 1 mA/cm2, alpha 0.5 and 1.5, for 0.5, 1.5 and 3 A/dm2 at the cathode and
    // half of that at the anode, mV (Butler-Volmer, worked by hand; parameters after Newman,
    // "Electrochemical Systems", from memory).
    [0.5, 83, 20],
    [1.5, 139, 36],
    [3, 175, 47],
  ])('at %d A/dm2 give %d mV at the cathode and %d mV at the anode', (density, cathode, anode) => {
    const cathodeVolts = thermalVolts * scaledOverpotential(density / 0.1, 0.5, 1.5);
    const anodeVolts = thermalVolts * scaledOverpotential(density / 2 / 0.1, 1.5, 0.5);
    expect(Math.round(cathodeVolts * 1000)).toBe(cathode);
    expect(Math.round(anodeVolts * 1000)).toBe(anode);
  });

  it('have a Tafel slope of 118.3 mV per decade at alpha 0.5', () => {
    // 2.303 RT / (alpha F) at 25 C, any electrochemistry textbook.
    const cell = new Cell({
      ...defaultCell,
      bathSiemensPerMetre: 1000,
      distanceMm: 0.1,
      geometry: 'plates',
      leadsOhms: 0,
      contactOhms: 0,
      anodeAreaDm2: 1000,
      exchangeAmpsPerDm2: 1e-5,
      areaDm2: 1,
    });
    const one = point();
    const ten = point();
    cell.voltsAt(0.1, sound, one);
    cell.voltsAt(1, sound, ten);
    const ohmic = 0.9 * bathOhms(cell.options, 1);
    const anode =
      thermalVolts *
      (scaledOverpotential(1 / 0.01, 1.5, 0.5) - scaledOverpotential(0.1 / 0.01, 1.5, 0.5));
    expect((ten.volts - one.volts - ohmic - anode) * 1000).toBeCloseTo(118.3, 1);
  });
});

describe('the cell at the terminals', () => {
  it('adds leads, contact, bath and both overpotentials', () => {
    const cell = new Cell(defaultCell);
    const at = point();
    cell.voltsAt(0.45, { ...sound, extraContactOhms: 0.2, filmOhms: 0.1, emfVolts: 0.05 }, at);
    const ohms = 0.03 + 0.01 + 0.2 + 0.1 + bathOhms(defaultCell, 0.3);
    const eta =
      thermalVolts *
      (scaledOverpotential(0.45 / 0.03, 0.5, 1.5) + scaledOverpotential(0.45 / 0.06, 1.5, 0.5));
    expect(at.volts).toBeCloseTo(0.05 + 0.45 * ohms + eta, 12);
  });

  it('finds the current for a voltage and back, with and without a short', () => {
    for (const shortOhms of [null, 0.005, 0.5, 50]) {
      for (const emfVolts of [0, 0.2]) {
        const faults = { ...sound, shortOhms, emfVolts };
        const cell = new Cell(defaultCell);
        for (const amps of [1e-4, 0.01, 0.3, 2, 40]) {
          const there = point();
          const back = point();
          cell.voltsAt(amps, faults, there);
          cell.ampsAt(there.volts, faults, back);
          expect(back.amps).toBeCloseTo(amps, 8);
          expect(back.cellAmps).toBeCloseTo(there.cellAmps, 8);
          // What does not go through the bath goes through the short.
          if (shortOhms !== null) {
            const across = there.volts - amps * 0.04;
            expect(there.amps - there.cellAmps).toBeCloseTo(across / shortOhms, 8);
          }
        }
      }
    }
  });

  it('carries nothing through an open lead', () => {
    const at = point();
    new Cell(defaultCell).ampsAt(5, { ...sound, open: true }, at);
    expect(at.amps).toBe(0);
  });
});

describe('conductive paint', () => {
  it('covers from the contact, without ever going back, and is whole at the end', () => {
    const cell = new Cell({ ...defaultCell, paint: 'graphite' });
    let before = cell.coveredFraction;
    expect(before).toBeCloseTo(0.02, 12);
    for (let charge = 10; charge <= 2000; charge += 10) {
      cell.age(charge);
      expect(cell.coveredFraction).toBeGreaterThanOrEqual(before);
      before = cell.coveredFraction;
    }
    expect(before).toBe(1);
    expect(cell.effectiveAreaDm2).toBeCloseTo(0.3, 12);
  });

  it('takes a strike of 15 minutes to 3 hours for graphite and less for copper and silver', () => {
    // 15 min to 3 h: common practice, from memory; the order of the paints follows their
    // resistance.
    const strikeAmps = 0.3 * 0.3;
    const graphite = hoursUntilCovered('graphite', strikeAmps);
    const copper = hoursUntilCovered('copper', strikeAmps);
    const silver = hoursUntilCovered('silver', strikeAmps);
    expect(graphite).toBeGreaterThan(0.25);
    expect(graphite).toBeLessThan(3);
    expect(copper).toBeLessThan(graphite);
    expect(silver).toBeLessThan(copper);
    expect(hoursUntilCovered('none', strikeAmps)).toBe(0);
  });

  it('lets the voltage fall at constant current and the current rise at constant voltage', () => {
    const cell = new Cell({ ...defaultCell, paint: 'graphite' });
    let volts = Number.POSITIVE_INFINITY;
    let amps = 0;
    for (let charge = 0; cell.coveredFraction < 1; charge += 25) {
      cell.age(charge);
      const constantCurrent = point();
      const constantVoltage = point();
      cell.voltsAt(0.09, sound, constantCurrent);
      cell.ampsAt(0.4, sound, constantVoltage);
      expect(constantCurrent.volts).toBeLessThan(volts);
      expect(constantVoltage.amps).toBeGreaterThan(amps);
      volts = constantCurrent.volts;
      amps = constantVoltage.amps;
    }
    // Covered: from here on nothing changes any more.
    cell.age(5000);
    const covered = point();
    cell.voltsAt(0.09, sound, covered);
    cell.age(50_000);
    const later = point();
    cell.voltsAt(0.09, sound, later);
    expect(later.volts).toBe(covered.volts);
    expect(covered.volts).toBeLessThanOrEqual(volts);
  });

  it('reaches the same cover in one step of charge as in many', () => {
    const once = new Cell({ ...defaultCell, paint: 'copper' });
    const often = new Cell({ ...defaultCell, paint: 'copper' });
    for (let charge = 0; charge <= 100; charge += 0.1) often.age(charge);
    often.age(100);
    once.age(100);
    expect(often.coveredFraction).toBe(once.coveredFraction);
  });

  it('grows the piece with charge where growth is asked for', () => {
    const cell = new Cell({ ...defaultCell, growthDm2PerAmpHour: 0.02 });
    cell.age(3600 * 3);
    expect(cell.areaDm2).toBeCloseTo(0.36, 12);
    expect(cell.effectiveAreaDm2).toBeCloseTo(0.36, 12);
  });
});

describe('the charge', () => {
  it.each([0.2, 1, 60, 3600, 12 * 3600])('of a constant current over %d s is exact', (seconds) => {
    const talk = new Talk({ personality: 'scpi-subsystem', meter: quiet });
    talk.tell('VOLT 5', 'CURR 0.45', 'OUTP ON');
    talk.wait(seconds * 1000);
    const charge = talk.truth.chargeCoulombs;
    expect(Math.abs(charge / closedForm(0.45, seconds) - 1)).toBeLessThan(1e-9);
    expect(talk.truth.cellChargeCoulombs).toBe(charge);
  });

  it('adds up over set-points that change at odd times', () => {
    const talk = new Talk({ personality: 'scpi-subsystem', meter: quiet, latencyMs: 0 });
    talk.tell('VOLT 5', 'CURR 0.1', 'OUTP ON');
    let wanted = 0;
    let reached = 0;
    for (const [amps, seconds] of [
      [0.1, 7.3137],
      [0.4, 0.0313],
      [0.2, 1.7071],
      [0.0, 0.5],
      [0.3, 100.001],
    ] as const) {
      talk.instrument.receive(`CURR ${amps}\n`, talk.nowMs);
      const share = 1 - Math.exp(-seconds / 0.025);
      wanted += amps * seconds + (reached - amps) * 0.025 * share;
      reached = amps + (reached - amps) * (1 - share);
      talk.wait(seconds * 1000);
    }
    expect(talk.truth.chargeCoulombs).toBeCloseTo(wanted, 7);
  });

  it('does not depend on when or how often anybody looks', () => {
    const never = night([]);
    const often = night(Array.from({ length: 4000 }, (_, index) => 100 + index * 250));
    const oddly = night(Array.from({ length: 1000 }, (_, index) => 100 + index ** 2 * 1.1));
    expect(often).toEqual(never);
    expect(oddly).toEqual(never);
  });

  it('follows a covering piece at constant voltage as a finer independent integration does', () => {
    const talk = new Talk({
      personality: 'scpi-subsystem',
      cell: { paint: 'copper' },
      latencyMs: 0,
      meter: quiet,
    });
    talk.tell('CURR 5', 'VOLT 0.25', 'OUTP ON');
    talk.wait(600_000);
    const { chargeCoulombs, regulation } = talk.truth;
    expect(regulation).toBe('constantVoltage');
    const cell = new Cell({ ...defaultCell, paint: 'copper' });
    const at = point();
    let charge = 0;
    for (let step = 0; step < 600_000; step += 1) {
      cell.age(charge);
      cell.ampsAt(0.25, sound, at);
      charge += at.amps * 1e-3;
    }
    expect(Math.abs(chargeCoulombs / charge - 1)).toBeLessThan(5e-4);
  });

  it('stands still while the output is off, for any step of time', () => {
    const talk = new Talk({ personality: 'scpi-subsystem' });
    talk.tell('VOLT 1', 'CURR 0.1', 'OUTP ON');
    talk.wait(1000).tell('OUTP OFF');
    const { chargeCoulombs } = talk.truth;
    expect(chargeCoulombs).toBeGreaterThan(0.09);
    talk.wait(48 * 3.6e6);
    expect(talk.truth.chargeCoulombs).toBe(chargeCoulombs);
    expect(talk.truth.volts).toBe(0);
  });
});
