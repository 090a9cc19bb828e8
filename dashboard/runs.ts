/** What the pages know of each run they show: its document, curve, events and alarms. */

import type { CrossSection } from '../daemon/piece/model.ts';
import type { LiveRun, TankSnapshot } from '../daemon/wire/bench.ts';
import type { RunFolderView } from '../daemon/wire/log.ts';
import type { Alarm, EventRow, RunRecord } from '../daemon/wire/run.ts';
import { ApiError, read } from './api.ts';
import { words } from '#words/common';
import { withLive } from './sensors.ts';
import type { SensorTrace } from '../daemon/wire/sensors.ts';
import { connection } from './connection.ts';
import type { RingsInput } from './rings.ts';
import { folderPath } from './run-paths.ts';
import { RunTrack } from './run-track.ts';
import type { Lifecycle, Ranged } from '../daemon/run/model.ts';

export class RunFolder {
  readonly id: string;
  readonly track: RunTrack;
  record: RunRecord | null = null;
  events: readonly EventRow[] = [];
  alarms: readonly Alarm[] = [];
  /** What the sensors of the bath said, as far as it is known here. */
  sensors: readonly SensorTrace[] = [];
  /** The cut through each part of the piece, in their order. */
  sections: readonly CrossSection[] = [];
  error: string | null = null;
  /** True once it has been looked up in the log. */
  asked = false;
  #loading = false;
  #lifecycle: Lifecycle | null = null;

  constructor(id: string) {
    this.id = id;
    this.track = new RunTrack(id);
  }

  /** Reads everything anew; live frames go on arriving meanwhile. */
  async load(): Promise<void> {
    if (this.#loading) return;
    this.#loading = true;
    this.asked = true;
    try {
      const folder = await read<RunFolderView>(folderPath(this.id));
      const { record, series, events, alarms, sensors, sections } = folder;
      this.sensors = sensors;
      this.sections = sections;
      this.record = record;
      this.track.load(series);
      this.events = events;
      this.alarms = alarms;
      this.error = null;
    } catch (error) {
      this.error = error instanceof ApiError ? error.message : words.failed;
    }
    this.#loading = false;
    connection.announce();
  }

  /** Adds a live frame; a change of state is looked up in the log, which knows more of it. */
  push(
    run: LiveRun,
    reading: { readonly volts: number; readonly amps: number },
    sensors: TankSnapshot['sensors'],
  ): void {
    if (this.asked && this.#lifecycle !== null && this.#lifecycle !== run.lifecycle) {
      void this.load();
    }
    this.#lifecycle = run.lifecycle;
    if (run.startedWallMs === null) return;
    this.sensors = withLive(this.sensors, sensors, run.elapsedMs);
    this.track.push({
      atMs: run.elapsedMs,
      volts: reading.volts,
      amps: reading.amps,
      setAmps: run.wantedAmps,
      ampHours: run.ampHours,
      thicknessMicrometres: run.thicknessMicrometres.value,
      lifecycle: run.lifecycle,
    });
  }

  addEvent(event: EventRow): void {
    // Its plan is another from here on; it is on disk a moment after the event.
    if (event.code === 'changed') setTimeout(() => void this.load(), 700);
    if (!this.events.some(({ id }) => id === event.id)) this.events = [...this.events, event];
  }

  addAlarm(alarm: Alarm): void {
    // Before the disk had it, it was told under a passing id.
    const same = ({ id, code, wallMs }: Alarm): boolean =>
      id === alarm.id || (id < 0 && code === alarm.code && wallMs === alarm.wallMs);
    this.alarms = [...this.alarms.filter((one) => !same(one)), alarm];
  }

  /** Where it was lifted: by the events too, since a short lift goes under in the stretches of a curve. */
  #lifts(untilMs: number, ofTheCurve: readonly number[]): readonly number[] {
    const told = this.events.flatMap(({ code, atMs }) =>
      code === 'lifted' && atMs !== null && atMs <= untilMs
        ? [this.track.valueAt('thicknessMicrometres', atMs)]
        : [],
    );
    return told.length > ofTheCurve.length ? told : ofTheCurve;
  }

  /** The picture's input at a time of the run; null until the document is there. */
  rings(untilMs: number, grown: Ranged, part?: number): RingsInput | null {
    if (!this.record) return null;
    const { plan, startedWallMs } = this.record;
    const from = startedWallMs ?? Infinity;
    // An alarm may be written a moment after the last reading of the run that it ended.
    const whole = untilMs >= this.track.endMs;
    const times = this.alarms.map(({ wallMs }) => wallMs - from);
    const alarms = times.filter((at) => whole || at <= untilMs);
    const { hours, lifts } = this.track.marks(untilMs);
    return {
      section: this.sections[part ?? plan.decidingPart] ?? { shape: 'round', diameterMm: 1 },
      grown,
      targetMicrometres: plan.thicknessMicrometres.value,
      hours,
      lifts: this.#lifts(untilMs, lifts),
      alarms: alarms.map((at) => this.track.valueAt('thicknessMicrometres', at)),
    };
  }
}

/** Opens a run's folder once and keeps it filled from the live socket. */
class Cabinet {
  readonly #folders = new Map<string, RunFolder>();

  constructor() {
    connection.listen({
      bench: () => this.#reload(),
      tank: (tank) => this.#push(tank),
      event: (event) => this.#folders.get(event.runId ?? '')?.addEvent(event),
      alarm: (alarm) => this.#folders.get(alarm.runId ?? '')?.addAlarm(alarm),
    });
  }

  /** After a gap the log knows what the live frames missed; what has ended stays as it is. */
  #reload(): void {
    for (const folder of this.#folders.values()) {
      if (folder.asked && (folder.record?.outcome ?? null) === null) void folder.load();
    }
  }

  #folder(id: string): RunFolder {
    const folder = this.#folders.get(id) ?? new RunFolder(id);
    this.#folders.set(id, folder);
    return folder;
  }

  /** A run that is in the log. */
  open(id: string): RunFolder {
    const folder = this.#folder(id);
    if (!folder.asked) void folder.load();
    return folder;
  }

  /** A run on a tank: until it is ready it need not be in the log yet, so it is not looked up. */
  openLive({ id, lifecycle, ready }: LiveRun): RunFolder {
    return lifecycle === 'armed' && !ready ? this.#folder(id) : this.open(id);
  }

  #push({ run, reading, sensors }: TankSnapshot): void {
    if (run && reading) this.#folders.get(run.id)?.push(run, reading, sensors);
  }
}

export const cabinet = new Cabinet();
