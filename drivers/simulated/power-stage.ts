/**
 * The supply's power stage: follows its set-points in constant current or constant voltage into the
 * cell, counts the true charge, and trips its protections. Time enters only as an argument.
 */

import type { Cell, CellFaults, CellPoint } from './cell.ts';
import type { StageRegulation, Trip } from './model.ts';

/** Steps on a grid counted from birth, so that polls never change what happens. */
const fineStepMs = 5;
const ordinaryStepMs = 25;
/** Only while a settled constant current is counted, which is exact for any step. */
const coarseStepMs = 250;
const offDecayMs = 50;

/** What the stage is told to do; faults bend it. */
export interface StageSettings {
  volts: number;
  amps: number;
  overVoltageVolts: number;
  /** Null is none. */
  overCurrentAmps: number | null;
  overCurrentDelayMs: number;
  /** Trips when the set current itself is reached, instead of at a level of its own. */
  tripAtSetCurrent: boolean;
  stepAmps: number;
  /** Regulation fails: the current runs to this whatever was set; null is sound. */
  runawayAmps: number | null;
  /** Regulation fails: the voltage runs to this whatever was set; null is sound. */
  runawayVolts: number | null;
  /** What the supply cannot exceed even when its regulation fails. */
  ceilingVolts: number;
  ceilingAmps: number;
  /** Growth of the anode's film; null is a clean anode. */
  filmOhmsPerHour: number | null;
}

/** One moment of the stage. */
export interface StageState extends CellPoint {
  atMs: number;
  regulation: StageRegulation;
  /** Where the loops have got to on the way to their targets. */
  loopVolts: number;
  loopAmps: number;
  settled: boolean;
  chargeCoulombs: number;
  cellChargeCoulombs: number;
  filmOhms: number;
  /** Since when the over-current condition has stood, ms; NaN while it does not. */
  overSinceMs: number;
}

/** As Object.assign, which would cost more than the step that follows. */
function copyState(from: Readonly<StageState>, into: StageState): void {
  into.volts = from.volts;
  into.amps = from.amps;
  into.cellAmps = from.cellAmps;
  into.atMs = from.atMs;
  into.regulation = from.regulation;
  into.loopVolts = from.loopVolts;
  into.loopAmps = from.loopAmps;
  into.settled = from.settled;
  into.chargeCoulombs = from.chargeCoulombs;
  into.cellChargeCoulombs = from.cellChargeCoulombs;
  into.filmOhms = from.filmOhms;
  into.overSinceMs = from.overSinceMs;
}

export class PowerStage {
  readonly settings: StageSettings;
  readonly faults: CellFaults;
  #cell: Cell;
  /** Charge that had passed through the bath when the present piece was hung, C. */
  #hungAtCoulombs = 0;
  readonly #bornMs: number;
  readonly #settlingMs: number;
  readonly #onTrip: (trip: Trip, atMs: number) => void;
  readonly #state: StageState;
  readonly #scratch: StageState;
  /** The moment that `#scratch` was last worked out for, ms; NaN once anything has changed since. */
  #lookedAtMs = Number.NaN;
  #on = false;
  #offAtMs: number;
  #offFromVolts = 0;

  constructor(
    cell: Cell,
    settings: StageSettings,
    timing: { readonly bornMs: number; readonly settlingMs: number },
    onTrip: (trip: Trip, atMs: number) => void,
  ) {
    this.#cell = cell;
    this.settings = settings;
    this.#bornMs = timing.bornMs;
    this.#settlingMs = timing.settlingMs;
    this.#offAtMs = timing.bornMs;
    this.#onTrip = onTrip;
    this.faults = {
      extraContactOhms: 0,
      shortOhms: null,
      open: false,
      emfVolts: 0,
      filmOhms: 0,
    };
    this.#state = {
      atMs: timing.bornMs,
      regulation: 'off',
      volts: 0,
      amps: 0,
      cellAmps: 0,
      loopVolts: 0,
      loopAmps: 0,
      settled: true,
      chargeCoulombs: 0,
      cellChargeCoulombs: 0,
      filmOhms: 0,
      overSinceMs: Number.NaN,
    };
    this.#scratch = { ...this.#state };
  }

  get on(): boolean {
    return this.#on;
  }

  /** What it switches off at by itself; null where it would not. */
  get tripLevels(): { tripVolts: number | null; tripAmps: number | null } {
    const { overVoltageVolts, overCurrentAmps } = this.settings;
    const tripVolts = Number.isFinite(overVoltageVolts) ? overVoltageVolts : null;
    return { tripVolts, tripAmps: overCurrentAmps };
  }

  /** Applies a change of settings, faults or output at `nowMs`. */
  change(nowMs: number, mutate: () => void): void {
    this.advanceTo(nowMs);
    this.#lookedAtMs = Number.NaN;
    const state = this.#state;
    if (this.#on && nowMs > state.atMs) this.#step(state, nowMs - state.atMs);
    state.atMs = Math.max(state.atMs, nowMs);
    mutate();
    if (this.settings.filmOhmsPerHour === null) state.filmOhms = 0;
    if (!this.#on) return;
    state.settled = false;
    this.#operate(state);
  }

  /** Only inside `change`. The current loop starts from nothing, as after a soft start. */
  switchOn(): void {
    if (this.#on) return;
    this.#lookedAtMs = Number.NaN;
    this.#on = true;
    this.#state.loopAmps = 0;
    this.#state.loopVolts = this.#targetVolts();
    this.#state.overSinceMs = Number.NaN;
  }

  /** Only inside `change`, or on a trip. */
  switchOff(): void {
    if (!this.#on) return;
    const state = this.#state;
    this.#lookedAtMs = Number.NaN;
    this.#on = false;
    this.#offAtMs = state.atMs;
    this.#offFromVolts = state.volts;
    state.regulation = 'off';
    state.amps = 0;
    state.cellAmps = 0;
    state.settled = true;
  }

  /** Carries the true state on to the last grid point at or before `nowMs`. */
  advanceTo(nowMs: number): void {
    const state = this.#state;
    while (this.#on) {
      const stepMs = this.#gridMs();
      let next = this.#nextGridPoint(stepMs);
      if (next > nowMs) return;
      this.#lookedAtMs = Number.NaN;
      if (stepMs === coarseStepMs && this.#coarseHolds(next)) {
        copyState(this.#scratch, state);
      } else {
        if (stepMs === coarseStepMs) next = this.#nextGridPoint(ordinaryStepMs);
        this.#step(state, next - state.atMs);
      }
      state.atMs = next;
      this.#judge();
    }
    state.atMs = Math.max(state.atMs, nowMs);
  }

  /** The state at `nowMs`; looking never changes what happens. The object is used again. */
  at(nowMs: number): Readonly<StageState> {
    this.advanceTo(nowMs);
    const state = this.#state;
    if (!this.#on) {
      // The output capacitor empties into the cell after the relay has opened.
      const share = Math.exp(-(nowMs - this.#offAtMs) / offDecayMs);
      const rest = this.faults.open ? 0 : this.faults.emfVolts;
      state.volts = rest + (this.#offFromVolts - rest) * (share < 1e-9 ? 0 : share);
      return state;
    }
    if (nowMs <= state.atMs) return state;
    if (nowMs === this.#lookedAtMs) return this.#scratch;
    copyState(state, this.#scratch);
    this.#step(this.#scratch, nowMs - state.atMs);
    this.#scratch.atMs = nowMs;
    this.#lookedAtMs = nowMs;
    return this.#scratch;
  }

  /** Covered share and areas at the state last looked at. */
  pieceAt(nowMs: number): { coveredFraction: number; effectiveAreaDm2: number; areaDm2: number } {
    this.#cell.age(this.at(nowMs).cellChargeCoulombs - this.#hungAtCoulombs);
    const { coveredFraction, effectiveAreaDm2, areaDm2 } = this.#cell;
    return { coveredFraction, effectiveAreaDm2, areaDm2 };
  }

  /** Another piece in the bath, bare at `nowMs`; only while the output is off. */
  hang(cell: Cell, nowMs: number): void {
    if (this.#on) throw new RangeError('A piece is hung only while the output is off.');
    this.#hungAtCoulombs = this.at(nowMs).cellChargeCoulombs;
    this.#lookedAtMs = Number.NaN;
    this.#cell = cell;
  }

  #gridMs(): number {
    // The delay of a protection may begin to run while nothing else moves.
    if (!this.#state.settled || !Number.isNaN(this.#state.overSinceMs)) return fineStepMs;
    return this.#state.regulation === 'constantCurrent' ? coarseStepMs : ordinaryStepMs;
  }

  #nextGridPoint(stepMs: number): number {
    const since = this.#state.atMs - this.#bornMs;
    return this.#bornMs + (Math.floor(since / stepMs + 1e-9) + 1) * stepMs;
  }

  /** A coarse step is kept only when nothing but charge happens in it. */
  #coarseHolds(nextMs: number): boolean {
    copyState(this.#state, this.#scratch);
    this.#step(this.#scratch, nextMs - this.#state.atMs);
    return (
      this.#scratch.regulation === 'constantCurrent' &&
      !this.#overCurrent(this.#scratch) &&
      this.#scratch.volts <= this.settings.overVoltageVolts
    );
  }

  #targetVolts(): number {
    const { runawayVolts, runawayAmps, volts, ceilingVolts } = this.settings;
    if (runawayAmps !== null) return ceilingVolts;
    return runawayVolts === null ? volts : Math.min(ceilingVolts, runawayVolts);
  }

  #targetAmps(): number {
    const { runawayVolts, runawayAmps, amps, ceilingAmps } = this.settings;
    if (runawayAmps !== null) return Math.min(ceilingAmps, runawayAmps);
    return runawayVolts === null ? amps : ceilingAmps;
  }

  #step(state: StageState, durationMs: number): void {
    const targetVolts = this.#targetVolts();
    const targetAmps = this.#targetAmps();
    const before = state.regulation;
    const beforeAmps = state.amps;
    const beforeCellAmps = state.cellAmps;
    const beforeLoopAmps = state.loopAmps;
    const share = state.settled ? 0 : Math.exp(-durationMs / this.#settlingMs);
    state.loopVolts = targetVolts + (state.loopVolts - targetVolts) * share;
    state.loopAmps = targetAmps + (state.loopAmps - targetAmps) * share;
    const seconds = durationMs / 1000;
    const cellCharge = state.cellChargeCoulombs;
    state.cellChargeCoulombs += beforeCellAmps * seconds;
    state.filmOhms += ((this.settings.filmOhmsPerHour ?? 0) * seconds) / 3600;
    this.#operate(state);
    const settlingSeconds = this.#settlingMs / 1000;
    const charge =
      before === 'constantCurrent' && state.regulation === 'constantCurrent'
        ? targetAmps * seconds + (beforeLoopAmps - targetAmps) * settlingSeconds * (1 - share)
        : ((beforeAmps + state.amps) / 2) * seconds;
    state.chargeCoulombs += charge;
    state.cellChargeCoulombs =
      cellCharge +
      (this.faults.shortOhms === null && !this.faults.open
        ? charge
        : ((beforeCellAmps + state.cellAmps) / 2) * seconds);
    this.#settle(state, targetVolts, targetAmps);
  }

  #settle(state: StageState, targetVolts: number, targetAmps: number): void {
    if (state.settled) return;
    const near = 1e-9;
    if (Math.abs(state.loopVolts - targetVolts) > near) return;
    if (Math.abs(state.loopAmps - targetAmps) > near) return;
    state.loopVolts = targetVolts;
    state.loopAmps = targetAmps;
    state.settled = true;
  }

  /** The operating point: the lower of what the current loop and the voltage loop allow. */
  #operate(state: StageState): void {
    this.faults.filmOhms = state.filmOhms;
    this.#cell.age(state.cellChargeCoulombs - this.#hungAtCoulombs);
    this.#cell.voltsAt(state.loopAmps, this.faults, state);
    if (state.volts <= state.loopVolts) {
      state.regulation = 'constantCurrent';
      return;
    }
    state.regulation = 'constantVoltage';
    this.#cell.ampsAt(state.loopVolts, this.faults, state);
    // A cell that pushes harder than the set-point lifts the terminals; nothing flows.
    if (!this.faults.open) state.volts = Math.max(state.loopVolts, this.faults.emfVolts);
  }

  #overCurrent(state: StageState): boolean {
    const { overCurrentAmps, tripAtSetCurrent, amps, stepAmps } = this.settings;
    if (tripAtSetCurrent) return amps > 0 && state.amps >= amps - stepAmps / 2;
    return overCurrentAmps !== null && state.amps > overCurrentAmps + 1e-9;
  }

  #judge(): void {
    const state = this.#state;
    if (state.volts > this.settings.overVoltageVolts + 1e-9) {
      this.#trip('overVoltage');
      return;
    }
    if (!this.#overCurrent(state)) {
      state.overSinceMs = Number.NaN;
      return;
    }
    if (Number.isNaN(state.overSinceMs)) state.overSinceMs = state.atMs;
    if (state.atMs - state.overSinceMs >= this.settings.overCurrentDelayMs) {
      this.#trip('overCurrent');
    }
  }

  #trip(trip: Trip): void {
    this.switchOff();
    this.#onTrip(trip, this.#state.atMs);
  }
}
