/**
 * The supply as its command languages see it: set-points, output, protections and meters, with the
 * faults that make it disobey.
 */

import type { Cell } from './cell.ts';
import type { FaultName, FaultSwitches } from './faults.ts';
import type { Journal } from './journal.ts';
import type { Meter, Shown } from './meter.ts';
import type { Glance, OutputChange, StageRegulation, Trip, Truth } from './model.ts';
import type { SupplyModel } from './models.ts';
import { PowerStage } from './power-stage.ts';

/** Share of the supply's own maximum up to which a protection can be set. */
const protectionShare = 1.1;
/** What the power stage reaches when its regulation fails, as a share of the maximum. */
const ceilingShare = 1.2;

export interface SupplyParts {
  readonly model: SupplyModel;
  readonly cell: Cell;
  readonly meter: Meter;
  readonly faults: FaultSwitches;
  readonly journal: Journal;
  readonly bornMs: number;
  readonly settlingMs: number;
  readonly restartKeepsOutput: boolean;
}

/** What the maker, a command or a restart can change; everything else follows from it. */
interface Settings {
  volts: number;
  amps: number;
  overVoltageVolts: number;
  overVoltageEnabled: boolean;
  overCurrentAmps: number;
  overCurrentEnabled: boolean;
}

export class Supply {
  readonly model: SupplyModel;
  readonly faults: FaultSwitches;
  readonly journal: Journal;
  readonly #parts: SupplyParts;
  readonly #stage: PowerStage;
  readonly #trips = new Set<Trip>();
  readonly #settings: Settings;
  /** The output as commanded; a welded relay does not follow it. */
  #commandedOn = false;
  /** Called when the supply has just restarted, so that its language forgets what it knew. */
  onRestart: (nowMs: number, bootMs: number) => void = () => {};

  constructor(parts: SupplyParts) {
    this.#parts = parts;
    this.model = parts.model;
    this.faults = parts.faults;
    this.journal = parts.journal;
    this.#settings = this.#startSettings();
    const { maxVolts, maxAmps, overCurrentDelayMs, stepAmps } = parts.model;
    this.#stage = new PowerStage(
      parts.cell,
      {
        volts: 0,
        amps: 0,
        overVoltageVolts: Number.POSITIVE_INFINITY,
        overCurrentAmps: null,
        overCurrentDelayMs,
        tripAtSetCurrent: false,
        stepAmps,
        runawayAmps: null,
        runawayVolts: null,
        ceilingVolts: maxVolts * ceilingShare,
        ceilingAmps: maxAmps * ceilingShare,
        filmOhmsPerHour: null,
      },
      parts,
      (trip, atMs) => this.#tripped(trip, atMs),
    );
    this.#bend();
    parts.faults.listen((name, _on, nowMs) => this.#onFault(name, nowMs));
  }

  get setVolts(): number {
    return this.#settings.volts;
  }
  get setAmps(): number {
    return this.#settings.amps;
  }
  get overVoltageVolts(): number {
    return this.#settings.overVoltageVolts;
  }
  get overCurrentAmps(): number {
    return this.#settings.overCurrentAmps;
  }
  get overCurrentEnabled(): boolean {
    return this.#settings.overCurrentEnabled;
  }
  get overVoltageEnabled(): boolean {
    return this.#settings.overVoltageEnabled;
  }
  get maxOverVoltageVolts(): number {
    return this.#volts(this.model.maxVolts * protectionShare);
  }
  get maxOverCurrentAmps(): number {
    return this.#amps(this.model.maxAmps * protectionShare);
  }

  /** Takes a voltage set-point from the line; the language has checked its range. */
  setVoltsTo(volts: number, nowMs: number): void {
    const value = this.#volts(volts);
    this.journal.accepted(value, 0);
    this.#command(nowMs, { volts: value });
  }

  setAmpsTo(amps: number, nowMs: number): void {
    const value = this.#amps(amps);
    this.journal.accepted(0, value);
    this.#command(nowMs, { amps: value });
  }

  setOverVoltageTo(volts: number, nowMs: number): void {
    this.#command(nowMs, { overVoltageVolts: this.#volts(volts) });
  }

  setOverCurrentTo(amps: number, nowMs: number): void {
    this.#command(nowMs, { overCurrentAmps: this.#amps(amps) });
  }

  enableOverVoltage(enabled: boolean, nowMs: number): void {
    this.#command(nowMs, { overVoltageEnabled: enabled });
  }

  enableOverCurrent(enabled: boolean, nowMs: number): void {
    this.#command(nowMs, { overCurrentEnabled: enabled });
  }

  /** False when a latched protection refuses to let the output on. */
  switchOutput(on: boolean, nowMs: number): boolean {
    this.#stage.advanceTo(nowMs);
    if (!on) {
      this.journal.off(nowMs);
      if (!this.faults.has('ignoresOff')) this.#output(false, nowMs, 'command');
      return true;
    }
    this.journal.on(nowMs);
    if (this.#trips.size > 0) return false;
    if (!this.faults.has('ignoresOn')) this.#output(true, nowMs, 'command');
    return true;
  }

  /** The output as the supply reports it. */
  outputShown(nowMs: number): boolean {
    this.#stage.advanceTo(nowMs);
    return this.#commandedOn && !this.faults.has('saysOff');
  }

  /** The regulation as the supply reports it. */
  regulationShown(nowMs: number): StageRegulation {
    return this.outputShown(nowMs) ? this.#stage.at(nowMs).regulation : 'off';
  }

  tripped(trip: Trip, nowMs: number): boolean {
    this.#stage.advanceTo(nowMs);
    return this.#trips.has(trip);
  }

  clearTrips(nowMs: number): void {
    this.#stage.advanceTo(nowMs);
    this.#trips.clear();
  }

  measureVolts(nowMs: number): Shown {
    const volts = this.#stage.at(nowMs).volts;
    return this.#parts.meter.volts(this.faults.get('saysOff')?.meterToo ? 0 : volts, nowMs);
  }

  measureAmps(nowMs: number): Shown {
    const amps = this.#stage.at(nowMs).amps;
    return this.#parts.meter.amps(this.faults.get('saysOff')?.meterToo ? 0 : amps, nowMs);
  }

  /** Output off, set-points and protections to their start values, as `*RST` asks. */
  reset(nowMs: number): void {
    this.#stage.advanceTo(nowMs);
    this.#trips.clear();
    this.#output(false, nowMs, 'reset');
    this.#change(nowMs, this.#startSettings());
  }

  advanceTo(nowMs: number): void {
    this.#stage.advanceTo(nowMs);
  }

  /** Another piece in the bath. */
  hang(cell: Cell, nowMs: number): void {
    this.#stage.advanceTo(nowMs);
    this.#stage.hang(cell, nowMs);
  }

  glance(nowMs: number): Glance {
    const { volts, amps, cellAmps, chargeCoulombs, cellChargeCoulombs } = this.#stage.at(nowMs);
    const { volts: setVolts, amps: setAmps } = this.#settings;
    const outputOn = this.#stage.on;
    const charges = { chargeCoulombs, cellChargeCoulombs };
    const set = { setVolts, setAmps, ...this.#stage.tripLevels };
    return { volts, amps, cellAmps, ...charges, outputOn, ...set };
  }

  truth(nowMs: number): Truth {
    const { regulation } = this.#stage.at(nowMs);
    const { journal } = this;
    const protections = this.#settings;
    return {
      nowMs,
      ...this.glance(nowMs),
      regulation,
      overVoltageVolts: protections.overVoltageVolts,
      overCurrentAmps: protections.overCurrentAmps,
      overVoltageEnabled: protections.overVoltageEnabled,
      overCurrentEnabled: protections.overCurrentEnabled,
      trips: [...this.#trips],
      received: journal.received,
      receivedSets: journal.receivedSets,
      receivedCount: journal.receivedCount,
      offsReceived: journal.offsReceived,
      lastOffMs: journal.lastOffMs,
      onsReceived: journal.onsReceived,
      highestSetVolts: journal.highestSetVolts,
      highestSetAmps: journal.highestSetAmps,
      outputChanges: journal.outputChanges,
      restarts: journal.restarts,
      ...this.#stage.pieceAt(nowMs),
      faults: this.faults.active(),
    };
  }

  #volts(volts: number): number {
    const { stepVolts, voltsDigits } = this.model;
    return Number((Math.round(volts / stepVolts) * stepVolts).toFixed(voltsDigits + 2));
  }

  #amps(amps: number): number {
    const { stepAmps, ampsDigits } = this.model;
    return Number((Math.round(amps / stepAmps) * stepAmps).toFixed(ampsDigits + 2));
  }

  #startSettings(): Settings {
    const { startVolts, startAmps, overCurrentKind, overVoltageKind, levelsHaveSwitches } =
      this.model;
    return {
      volts: startVolts,
      amps: startAmps,
      overVoltageVolts: this.maxOverVoltageVolts,
      overVoltageEnabled: overVoltageKind === 'level' && !levelsHaveSwitches,
      overCurrentAmps: this.maxOverCurrentAmps,
      overCurrentEnabled: overCurrentKind !== 'switch' && !levelsHaveSwitches,
    };
  }

  /** A change asked for over the line, which a fault may ignore. */
  #command(nowMs: number, change: Partial<Settings>): void {
    if (!this.faults.has('ignoresSet')) this.#change(nowMs, change);
  }

  #output(on: boolean, nowMs: number, cause: OutputChange['cause']): void {
    this.#stage.advanceTo(nowMs);
    this.#commandedOn = on;
    this.#change(nowMs, {}, cause);
  }

  #change(
    nowMs: number,
    change: Partial<Settings>,
    cause: OutputChange['cause'] = 'command',
  ): void {
    this.#stage.advanceTo(nowMs);
    const before = this.#stage.on;
    this.#stage.change(nowMs, () => {
      Object.assign(this.#settings, change);
      this.#bend();
    });
    const on = this.#stage.on;
    if (on !== before) this.journal.output({ atMs: nowMs, on, cause });
  }

  /** Only inside a change of the stage: brings it in line with settings, output and faults. */
  #bend(): void {
    const { settings, faults: cell } = this.#stage;
    const own = this.#settings;
    const { model, faults } = this;
    settings.volts = own.volts;
    settings.amps = own.amps;
    settings.overVoltageVolts = this.#overVoltageLevel();
    settings.tripAtSetCurrent = model.overCurrentKind === 'switch' && own.overCurrentEnabled;
    const level = model.overCurrentKind !== 'switch' && own.overCurrentEnabled;
    settings.overCurrentAmps = level ? own.overCurrentAmps : null;
    const excess = faults.get('overCurrent');
    settings.runawayAmps = excess === undefined ? null : own.amps * excess.factor;
    const lift = faults.get('overVoltage');
    settings.runawayVolts = lift === undefined ? null : own.volts + lift.excessVolts;
    settings.filmOhmsPerHour = faults.get('anodeFilm')?.ohmsPerHour ?? null;
    cell.extraContactOhms = faults.get('contactResistance')?.ohms ?? 0;
    cell.shortOhms = faults.get('shortCircuit')?.ohms ?? null;
    cell.open = faults.has('openCircuit');
    cell.emfVolts = faults.get('reverseEmf')?.volts ?? 0;
    if (this.#commandedOn) this.#stage.switchOn();
    else if (!faults.has('saysOff')) this.#stage.switchOff();
  }

  #overVoltageLevel(): number {
    const { overVoltageEnabled, overVoltageVolts, volts } = this.#settings;
    if (!overVoltageEnabled) return Number.POSITIVE_INFINITY;
    // Without a level of its own the protection watches a little above what was set.
    return this.model.overVoltageKind === 'level' ? overVoltageVolts : volts * 1.1 + 0.5;
  }

  #tripped(trip: Trip, atMs: number): void {
    this.#trips.add(trip);
    this.#commandedOn = false;
    this.journal.output({ atMs, on: false, cause: 'trip' });
  }

  #onFault(name: FaultName, nowMs: number): void {
    const knob = name === 'knob' ? this.faults.get('knob') : undefined;
    const key = name === 'outputKey' ? this.faults.get('outputKey') : undefined;
    const restart = name === 'restart' ? this.faults.get('restart') : undefined;
    if (knob !== undefined) {
      const { volts, amps } = knob;
      const { maxVolts, maxAmps } = this.model;
      this.#change(nowMs, {
        ...(volts === undefined ? {} : { volts: this.#volts(Math.min(volts, maxVolts)) }),
        ...(amps === undefined ? {} : { amps: this.#amps(Math.min(amps, maxAmps)) }),
      });
    } else if (key !== undefined) {
      this.#stage.advanceTo(nowMs);
      const on = key.on ?? !this.#commandedOn;
      if (!on || this.#trips.size === 0) this.#output(on, nowMs, 'panel');
    } else if (restart !== undefined) {
      this.#restart(nowMs, restart.keepsOutput ?? this.#parts.restartKeepsOutput);
      this.onRestart(nowMs, restart.bootMs);
    } else {
      this.#change(nowMs, {});
    }
  }

  #restart(nowMs: number, keepsOutput: boolean): void {
    this.#stage.advanceTo(nowMs);
    this.#trips.clear();
    this.journal.restarts += 1;
    if (keepsOutput) return;
    this.#output(false, nowMs, 'restart');
    if (!this.model.remembersSettings) this.#change(nowMs, this.#startSettings());
  }
}
