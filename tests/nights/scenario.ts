/** What a night is made of, all of it drawn from its seed: bench, bath, piece, plan, person and faults. */

import type { Paint, PlanRequest } from '../../daemon/run/model.ts';
import type { TankSettings } from '../../daemon/settings/model.ts';
import {
  personalities,
  type CellOptions,
  type Personality,
} from '../../drivers/simulated/model.ts';
import { supplyModels } from '../../drivers/simulated/models.ts';
import { createRandomStream, type RandomStream } from '../../drivers/simulated/random.ts';
import { besidesOf, nothingBesides, type Besides } from './besides.ts';
import { catalogue } from './catalogue.ts';
import type { FaultKind } from './faults/kind.ts';
import { sensorSettings } from './sensor-line.ts';
import type { Moment } from './world.ts';

/** One fault on its way: what, from when on, and for how long. */
export interface Episode {
  readonly kind: FaultKind;
  readonly at: Moment;
  /** From the moment on, ms. */
  readonly delayMs: number;
  readonly lastsMs: number;
}

/** What the person at the bench does beside arming and starting. */
export interface Habits {
  /** Time between what the page shows and the press, ms. */
  readonly reactionMs: number;
  readonly runs: number;
  /** Carries an ended run on instead of beginning anew. */
  readonly carriesOn: boolean;
  /** Lifts after so much powered time and puts back after so long; null leaves the piece alone. */
  readonly lift: { readonly afterMs: number; readonly forMs: number } | null;
  /** Stops by hand after so much powered time. */
  readonly stopAfterMs: number | null;
  readonly disarms: boolean;
  /** Arms and walks away. */
  readonly forgets: boolean;
  readonly triesBeforeAcknowledging: boolean;
}

export interface Scenario {
  readonly seed: number;
  readonly dialect: Personality;
  readonly baudRate: number | null;
  readonly inPortions: boolean;
  readonly latencyMs: number | undefined;
  readonly settlingMs: number;
  readonly settings: TankSettings;
  readonly cell: Partial<CellOptions>;
  readonly request: PlanRequest;
  readonly habits: Habits;
  readonly episodes: readonly Episode[];
  readonly besides: Besides;
  /** No fault at all: it must come to its end without a trip. */
  readonly faultless: boolean;
  /** The tank allows hardly more time than the plan takes. */
  readonly tight: boolean;
  /** Simulated time after which the night is brought to its end whatever is going on, ms. */
  readonly longestMs: number;
}

const minuteMs = 60_000;
const hourMs = 60 * minuteMs;
const longEvery = 50;
const faultlessShare = 0.25;
const mostFaults = 4;
const aimedShare = 0.08;
/** Faults by which a run comes to an end that no trip is. */
const endsByHand: ReadonlySet<string> = new Set(['stopsByHand', 'liftsByHand', 'sentinelLost']);

export function between(random: RandomStream, low: number, high: number): number {
  return low + (high - low) * random.uniform();
}

/** As many small ones as large ones on a logarithmic scale. */
export function logBetween(random: RandomStream, low: number, high: number): number {
  return low * (high / low) ** random.uniform();
}

export function pick<Item>(random: RandomStream, items: readonly Item[]): Item {
  const item = items[random.whole(items.length)];
  if (item === undefined) throw new RangeError('Nothing to pick from.');
  return item;
}

function chance(random: RandomStream, share: number): boolean {
  return random.uniform() < share;
}

/** A paint that conducts badly covers slowly: its strike has to be long. */
function paintsFor(wantedMs: number): readonly Paint[] {
  return wantedMs > 0.75 * hourMs ? ['none', 'silver', 'copper'] : ['none', 'silver'];
}

function planOf(seed: number, tankId: string, bath: string, wantedMs: number): PlanRequest {
  const random = createRandomStream(seed, 'plan');
  const areaDm2 = Number(logBetween(random, 0.1, 0.7).toFixed(4));
  const density = Number(between(random, 0.8, 2).toFixed(2));
  const share = Number(between(random, 0.25, 0.7).toFixed(2));
  const strikeMinutes = Number((between(random, 0.04, 0.2) * (wantedMs / minuteMs)).toFixed(2));
  // A set-point that rises by a twentieth each second is never judged as settled.
  const leastRampMinutes = (25 * (1 / share - 1)) / 60;
  const rampMinutes = Number(
    Math.max(leastRampMinutes, between(random, 0.04, 0.25) * (wantedMs / minuteMs)).toFixed(2),
  );
  const hours = wantedMs / hourMs;
  const held = Math.max(0.3 * hours, hours - (strikeMinutes + rampMinutes) / 60);
  const ampHours =
    areaDm2 *
    density *
    (held + (share * strikeMinutes) / 60 + ((1 + share) / 2) * (rampMinutes / 60));
  return {
    piece: {
      name: 'A piece of the night',
      parts: [
        {
          kind: 'measured',
          label: 'All of it',
          count: 1,
          platedFraction: 1,
          sizes: { areaMm2: areaDm2 * 10_000 },
        },
      ],
      areaUncertainty: 0.1,
    },
    tankId,
    bathId: bath,
    paint: pick(random, paintsFor(wantedMs)),
    densityAmpsPerDm2: density,
    target: chance(random, 0.3)
      ? { kind: 'time', hours: Number(hours.toFixed(4)) }
      : { kind: 'charge', ampHours: Number(ampHours.toFixed(5)) },
    trickle: chance(random, 0.2)
      ? { densityAmpsPerDm2: 0.2, maxHours: Number(between(random, 0.05, 0.3).toFixed(3)) }
      : null,
    start: { strikeShare: share, strikeMinutes, rampMinutes },
  };
}

function habitsOf(seed: number, wantedMs: number, faultless: boolean): Habits {
  const random = createRandomStream(seed, 'person');
  const lifts = chance(random, 0.15);
  return {
    reactionMs: logBetween(random, 150, 6_000),
    runs: faultless ? 1 : chance(random, 0.25) ? 2 : 1,
    carriesOn: chance(random, 0.6),
    lift: lifts
      ? {
          afterMs: wantedMs * between(random, 0.02, 0.8),
          forMs: logBetween(random, 2_000, 200_000),
        }
      : null,
    stopAfterMs: !faultless && chance(random, 0.08) ? wantedMs * random.uniform() : null,
    disarms: !faultless && chance(random, 0.03),
    forgets: !faultless && chance(random, 0.02),
    triesBeforeAcknowledging: chance(random, 0.5),
  };
}

/** Moments that few nights come to, and whose faults would hardly ever happen. */
type RareMoment = 'armed' | 'lifted' | 'trickling';
const rareMoments: readonly RareMoment[] = ['armed', 'lifted', 'lifted', 'trickling', 'trickling'];

/** A small share of nights is made for one of them. */
function aimOf(seed: number, { only, episodes }: Narrowing): RareMoment | null {
  const random = createRandomStream(seed, 'aim');
  if (only !== null || episodes != null || !chance(random, aimedShare)) return null;
  return pick(random, rareMoments);
}

function aimedEpisodes(seed: number, at: RareMoment): readonly Episode[] {
  const random = createRandomStream(seed, 'faults');
  const able = catalogue.filter(
    ({ name, benign, moments }) => (!benign || endsByHand.has(name)) && moments.includes(at),
  );
  const ofPerson = able.filter(({ name }) => endsByHand.has(name));
  const kind = pick(random, chance(random, 0.6) && ofPerson.length > 0 ? ofPerson : able);
  const delayMs = logBetween(random, 1, 5_000);
  return [{ kind, at, delayMs, lastsMs: kind.lastsMs(random, 5 * minuteMs) }];
}

/** The same night with what its moment needs, and nobody who ends it before. */
function aimed(scenario: Scenario, seed: number, at: RareMoment): Scenario {
  const random = createRandomStream(seed, 'aimed at');
  const { habits, request } = scenario;
  const lift = {
    afterMs: between(random, 10_000, 150_000),
    forMs: between(random, 15_000, 60_000),
  };
  const maxHours = Number(between(random, 0.05, 0.1).toFixed(3));
  return {
    ...scenario,
    habits: {
      ...habits,
      lift: at === 'lifted' ? lift : null,
      stopAfterMs: null,
      disarms: false,
      forgets: false,
      runs: 1,
    },
    request: {
      ...request,
      trickle: at === 'trickling' ? { densityAmpsPerDm2: 0.2, maxHours } : null,
    },
    episodes: aimedEpisodes(seed, at),
  };
}

function episodesOf(
  seed: number,
  wantedMs: number,
  pool: readonly FaultKind[],
): readonly Episode[] {
  const random = createRandomStream(seed, 'faults');
  const kinds = new Set<FaultKind>();
  const wanted = 1 + random.whole(mostFaults);
  for (let draw = 0; draw < wanted; draw += 1) kinds.add(pick(random, pool));
  return [...kinds].flatMap((kind) => {
    const times = kind.benign ? 1 + random.whole(3) : 1;
    return Array.from({ length: times }, () => {
      const at = pick(random, kind.moments);
      const late = at === 'striking' || at === 'ramping' || at === 'holding' || at === 'on';
      const delayMs = chance(random, 0.3)
        ? random.uniform() * 400
        : late && chance(random, 0.6)
          ? random.uniform() * wantedMs * (at === 'on' ? 0.9 : 0.3)
          : logBetween(random, 1, 20_000);
      return { kind, at, delayMs, lastsMs: kind.lastsMs(random, wantedMs) };
    });
  });
}

const bath = 'acid-copper-still';

function settingsOf(
  random: RandomStream,
  dialect: Personality,
  wantedMs: number,
  long: boolean,
  tight: boolean,
): TankSettings {
  return {
    id: 'one',
    name: 'Tank one',
    bath,
    volumeLitres: 5,
    anodeAreaDm2: 3,
    maxAmps: 2.5,
    maxVolts: 6,
    maxHours: tight ? Math.max(0.1, (wantedMs / hourMs) * 1.04) : 14,
    pollHz: long ? 1 : pick(random, [4, 4, 4, 2, 5, 1]),
    timeScale: 1,
    rectifier: {
      driver: 'scpi',
      dialect,
      link: { kind: 'serial', path: '/dev/serial/by-id/bench', baudRate: null },
      // What is meant is known by name: after a restart another supply is not taken for it.
      expectIdentity: supplyModels[dialect].model,
      meterUncertainty: 0.01,
    },
  };
}

/** An episode as a kept night has it on file. */
export interface KeptEpisode {
  readonly fault: string;
  readonly at: Moment;
  readonly delayMs: number;
  readonly lastsMs: number;
}

/** What a night is narrowed to. */
export interface Narrowing {
  /** Exactly these, in the place of drawn ones: a kept night stays what it was when faults are added. */
  readonly episodes?: readonly KeptEpisode[] | null;
  /** This beside them, in the place of what is drawn; a kept night that names nothing has none of it. */
  readonly besides?: Partial<Besides> | null | undefined;
  /** The faults that may happen; null allows all. */
  readonly only: readonly string[] | null;
  /** Some minutes, for faults that do not need longer. */
  readonly brief?: boolean;
  /** Faults that can begin at this moment begin at no other. */
  readonly moment?: Moment;
}

/** The night that belongs to a seed. */
export function scenarioOf(seed: number, narrowing: Narrowing): Scenario {
  const scenario = scenarioWithoutSensor(seed, narrowing);
  const { sensor } = scenario.besides;
  if (sensor === null) return scenario;
  return { ...scenario, settings: { ...scenario.settings, sensors: [sensorSettings(sensor)] } };
}

function scenarioWithoutSensor(seed: number, narrowing: Narrowing): Scenario {
  const aim = aimOf(seed, narrowing);
  const drawn = drawnScenario(seed, {
    ...narrowing,
    brief: narrowing.brief === true || aim !== null,
  });
  const scenario = aim === null || drawn.faultless ? drawn : aimed(drawn, seed, aim);
  const { episodes } = narrowing;
  if (episodes == null) return scenario;
  return { ...scenario, episodes: episodes.map(keptEpisode), faultless: false };
}

function keptEpisode({ fault, ...episode }: KeptEpisode): Episode {
  const kind = catalogue.find(({ name }) => name === fault);
  if (kind === undefined) throw new Error(`There is no fault "${fault}".`);
  return { kind, ...episode };
}

/** Where a night is kept, or made for one thing, nothing else is to come before it. */
function besidesIn(
  seed: number,
  wantedMs: number,
  faultless: boolean,
  { only, brief, episodes, besides }: Narrowing,
): Besides {
  const drawn = besides == null && episodes == null && only === null && brief !== true;
  return drawn ? besidesOf(seed, wantedMs, faultless) : { ...nothingBesides, ...besides };
}

function drawnScenario(seed: number, narrowing: Narrowing): Scenario {
  const { only, brief = false, moment } = narrowing;
  const random = createRandomStream(seed, 'bench');
  const long = !brief && seed % longEvery === longEvery - 1;
  // Short nights come oftener than long ones: starts and ends are where most can go wrong.
  const shortMs = 2.5 * minuteMs * (brief ? 2 : 48) ** (random.uniform() ** 2.2);
  const wantedMs = long ? 12 * hourMs : shortMs;
  const dialect = pick(random, personalities);
  const baudRate = dialect === 'fixed-length' ? 9_600 : pick(random, [null, 9_600, 115_200]);
  const faultless = only === null ? chance(random, faultlessShare) : only.length === 0;
  const tight = !faultless && chance(random, 0.15);
  const pool = catalogue
    .filter((kind) => only === null || only.includes(kind.name))
    .map((kind) =>
      moment && kind.moments.includes(moment) ? { ...kind, moments: [moment] } : kind,
    );
  return {
    seed,
    dialect,
    baudRate,
    inPortions: chance(random, 0.5),
    latencyMs: chance(random, 0.3) ? between(random, 1, 40) : undefined,
    settlingMs: between(random, 10, 60),
    settings: settingsOf(random, dialect, wantedMs, long, tight),
    cell: {
      anodeAreaDm2: 3,
      bathSiemensPerMetre: between(random, 13, 25),
      distanceMm: between(random, 40, 100),
      leadsOhms: between(random, 0.02, 0.05),
      contactOhms: between(random, 0.005, 0.02),
      exchangeAmpsPerDm2: logBetween(random, 0.05, 0.3),
      pathMm: between(random, 15, 60),
    },
    request: planOf(seed, 'one', bath, wantedMs),
    habits: habitsOf(seed, wantedMs, faultless),
    episodes: faultless || pool.length === 0 ? [] : episodesOf(seed, wantedMs, pool),
    besides: besidesIn(seed, wantedMs, faultless, narrowing),
    faultless,
    tight,
    longestMs: 2.2 * wantedMs + 25 * minuteMs,
  };
}
