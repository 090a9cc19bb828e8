/**
 * The electrochemical cell behind the supply's terminals, lumped into one equation:
 * V = I (R_leads + R_contact + R_bath + R_paint) + eta_cathode(I / A) + eta_anode(I / A_anode).
 */

import type { CellOptions, SimulatedPaint } from './model.ts';

const gasConstant = 8.31446261815324; // J/(mol K), CODATA 2018, exact
const faradayConstant = 96485.33212331; // C/mol, CODATA 2018, exact
/**
 * Copper(II), 8.96 g/cm3, grown by one ampere-hour over one square decimetre (Faraday's law), um.
 */
const micrometresPerAmpHourPerDm2 = 13.231;

/**
 * How a paint covers. Metal spreads from the contact as a front; ahead of it a little metal falls
 * within the length sqrt(b / (Rs i)) of the linear ladder. The figures are of the right order only.
 */
interface PaintFigures {
  readonly sheetOhms: number;
  /** Film thickness at which the first islands join, um. */
  readonly joiningMicrometres: number;
  /** Real fronts run slower than the ladder says. */
  readonly frontShare: number;
  /** Covered by the contact itself at the start. */
  readonly startFraction: number;
}

const paints: Readonly<Record<Exclude<SimulatedPaint, 'none'>, PaintFigures>> = {
  silver: { sheetOhms: 0.05, joiningMicrometres: 0.3, frontShare: 0.5, startFraction: 0.02 },
  copper: { sheetOhms: 0.5, joiningMicrometres: 0.3, frontShare: 0.5, startFraction: 0.02 },
  graphite: { sheetOhms: 50, joiningMicrometres: 0.3, frontShare: 0.5, startFraction: 0.02 },
};
/** Density at which the ladder's length is taken, A/dm2. */
const ladderAmpsPerDm2 = 1.5;

export const defaultCell: CellOptions = {
  areaDm2: 0.3,
  anodeAreaDm2: 0.6,
  bathSiemensPerMetre: 15,
  geometry: 'ball',
  distanceMm: 80,
  leadsOhms: 0.03,
  contactOhms: 0.01,
  exchangeAmpsPerDm2: 0.1,
  cathodicTransfer: 0.5,
  anodicTransfer: 1.5,
  temperatureKelvin: 298.15,
  paint: 'none',
  pathMm: 40,
  growthDm2PerAmpHour: 0,
};

/** What is wrong with the cell just now. */
export interface CellFaults {
  /** Added where the piece hangs, ohms. */
  extraContactOhms: number;
  /** Across the cell; null is no short, ohms. */
  shortOhms: number | null;
  /** A lead is off. */
  open: boolean;
  /** The cell pushes back with this, V. */
  emfVolts: number;
  /** Grown on the anode, ohms. */
  filmOhms: number;
}

/** One operating point of terminals and cell. */
export interface CellPoint {
  volts: number;
  amps: number;
  cellAmps: number;
}

/** Resistance of the bath between the piece and the anode, ohms. */
export function bathOhms(options: CellOptions, areaDm2: number): number {
  const areaM2 = areaDm2 / 100;
  const distanceM = options.distanceMm / 1000;
  if (options.geometry === 'plates') return distanceM / (options.bathSiemensPerMetre * areaM2);
  const radiusM = Math.sqrt(areaM2 / (4 * Math.PI));
  const spread = 1 / radiusM - 1 / (radiusM + distanceM);
  return spread / (4 * Math.PI * options.bathSiemensPerMetre);
}

/**
 * Inverts Butler-Volmer, i / i0 = exp(a x) - exp(-b x), for the scaled overpotential x at ratio >=
 * 0. Written as a x = ln(ratio + exp(-b x)) it is concave, so Newton from the left cannot
 * overshoot.
 */
export function scaledOverpotential(ratio: number, forward: number, backward: number): number {
  if (ratio <= 0) return 0;
  let x = Math.max(0, Math.log(ratio) / forward);
  for (let round = 0; round < 60; round += 1) {
    const back = Math.exp(-backward * x);
    const sum = ratio + back;
    const step = (forward * x - Math.log(sum)) / (forward + (backward * back) / sum);
    x -= step;
    if (Math.abs(step) <= 1e-14 * (1 + x)) break;
  }
  return x;
}

export class Cell {
  readonly options: CellOptions;
  readonly #thermalVolts: number;
  readonly #tail: number;
  readonly #startFraction: number;
  /** Square of (fraction + tail) gained by one coulomb. */
  readonly #frontPerCoulomb: number;
  readonly #paintOhms: number;
  // What follows belongs to the charge last asked for.
  #charge = Number.NaN;
  #coveredFraction = 1;
  #areaDm2 = 1;
  #effectiveAreaDm2 = 1;
  #seriesOhms = 0;
  // What `cellVolts` found at the current last asked for.
  #slopeOhms = 0;

  constructor(options: CellOptions) {
    this.options = options;
    this.#thermalVolts = (gasConstant * options.temperatureKelvin) / faradayConstant;
    if (options.paint === 'none') {
      this.#tail = 0;
      this.#startFraction = 1;
      this.#frontPerCoulomb = 0;
      this.#paintOhms = 0;
    } else {
      const paint = paints[options.paint];
      const slopeVolts = this.#thermalVolts / options.cathodicTransfer;
      const ladderMm = Math.sqrt(slopeVolts / (paint.sheetOhms * (ladderAmpsPerDm2 / 1e4)));
      const reach = ladderMm / options.pathMm;
      const micrometresPerCoulomb = micrometresPerAmpHourPerDm2 / 3600 / options.areaDm2;
      this.#tail = Math.min(1, reach);
      this.#startFraction = paint.startFraction;
      this.#frontPerCoulomb =
        (2 * paint.frontShare * reach * micrometresPerCoulomb) / paint.joiningMicrometres;
      const widthMm = (options.areaDm2 * 1e4) / options.pathMm;
      this.#paintOhms = (paint.sheetOhms * Math.min(ladderMm, options.pathMm)) / widthMm;
    }
    this.age(0);
  }

  get coveredFraction(): number {
    return this.#coveredFraction;
  }
  get areaDm2(): number {
    return this.#areaDm2;
  }
  get effectiveAreaDm2(): number {
    return this.#effectiveAreaDm2;
  }

  /**
   * Brings the piece to the state it has after `chargeCoulombs` through the bath. The front moves
   * with the local density, d(fraction) = k dQ / (A (fraction + tail)), so its square is linear in
   * charge: exact for a step of any size.
   */
  age(chargeCoulombs: number): void {
    if (chargeCoulombs === this.#charge) return;
    this.#charge = chargeCoulombs;
    const options = this.options;
    const start = this.#startFraction + this.#tail;
    const reached = Math.sqrt(start * start + this.#frontPerCoulomb * chargeCoulombs);
    this.#coveredFraction = Math.min(1, reached - this.#tail);
    const uncovered = 1 - this.#coveredFraction;
    this.#areaDm2 =
      options.areaDm2 + (options.growthDm2PerAmpHour * Math.max(0, chargeCoulombs)) / 3600;
    this.#effectiveAreaDm2 = this.#areaDm2 * Math.min(1, this.#coveredFraction + this.#tail);
    this.#seriesOhms = bathOhms(options, this.#effectiveAreaDm2) + this.#paintOhms * uncovered;
  }

  /** Voltage across the cell behind leads and contact, at a current through the bath >= 0. */
  cellVolts(cellAmps: number, faults: CellFaults): number {
    const { exchangeAmpsPerDm2, cathodicTransfer, anodicTransfer, anodeAreaDm2 } = this.options;
    const cathodeAmps = exchangeAmpsPerDm2 * this.#effectiveAreaDm2;
    const anodeAmps = exchangeAmpsPerDm2 * anodeAreaDm2;
    const cathode = scaledOverpotential(cellAmps / cathodeAmps, cathodicTransfer, anodicTransfer);
    const anode = scaledOverpotential(cellAmps / anodeAmps, anodicTransfer, cathodicTransfer);
    const ohms = this.#seriesOhms + faults.filmOhms;
    this.#slopeOhms =
      ohms +
      this.#slope(cathode, cathodeAmps, cathodicTransfer, anodicTransfer) +
      this.#slope(anode, anodeAmps, anodicTransfer, cathodicTransfer);
    return faults.emfVolts + cellAmps * ohms + this.#thermalVolts * (cathode + anode);
  }

  /** Voltage at the terminals when the supply pushes `amps`; infinite when a lead is off. */
  voltsAt(amps: number, faults: CellFaults, into: CellPoint): void {
    into.amps = amps;
    if (faults.open) {
      into.cellAmps = 0;
      into.volts = amps > 0 ? Number.POSITIVE_INFINITY : 0;
      return;
    }
    const outer = this.#outerOhms(faults);
    if (faults.shortOhms === null) {
      into.cellAmps = amps;
      into.volts = amps * outer + this.cellVolts(amps, faults);
      return;
    }
    const leak = 1 / faults.shortOhms;
    const cellAmps = this.#solve(amps, 1, leak, faults, into.cellAmps);
    // Where the cell's own voltage would push backwards, the short alone carries the current.
    const volts = cellAmps > 0 ? this.cellVolts(cellAmps, faults) : amps * faults.shortOhms;
    into.cellAmps = cellAmps;
    into.volts = amps * outer + volts;
  }

  /**
   * The current that flows when the terminals are held at `volts`; a supply never sinks current.
   */
  ampsAt(volts: number, faults: CellFaults, into: CellPoint): void {
    into.volts = volts;
    if (faults.open) {
      into.amps = 0;
      into.cellAmps = 0;
      return;
    }
    const outer = this.#outerOhms(faults);
    const leak = faults.shortOhms === null ? 0 : 1 / faults.shortOhms;
    const cellAmps = this.#solve(volts, outer, 1 + outer * leak, faults, into.cellAmps);
    into.cellAmps = cellAmps;
    if (leak === 0) into.amps = cellAmps;
    else if (cellAmps > 0) into.amps = cellAmps + this.cellVolts(cellAmps, faults) * leak;
    else into.amps = volts / (outer + 1 / leak);
  }

  #outerOhms(faults: CellFaults): number {
    return this.options.leadsOhms + this.options.contactOhms + faults.extraContactOhms;
  }

  #slope(x: number, exchangeAmps: number, forward: number, backward: number): number {
    const growth = forward * Math.exp(forward * x) + backward * Math.exp(-backward * x);
    return this.#thermalVolts / (exchangeAmps * growth);
  }

  /**
   * Finds x >= 0 with direct x + share U(x) = wanted. The left side rises and is concave, so after
   * one step from any guess Newton stays left of the root and climbs to it.
   */
  #solve(wanted: number, direct: number, share: number, faults: CellFaults, guess: number): number {
    if (share * faults.emfVolts >= wanted) return 0;
    let x = Math.max(0, guess);
    for (let round = 0; round < 80; round += 1) {
      const excess = direct * x + share * this.cellVolts(x, faults) - wanted;
      const next = Math.max(0, x - excess / (direct + share * this.#slopeOhms));
      const moved = Math.abs(next - x);
      x = next;
      if (moved <= 1e-12 * x + 1e-15) break;
    }
    return x;
  }
}
