/** Every fault that can happen to a night: what it does, how long it lasts, and what it excuses. */

import type { FaultInput, FaultName } from '../../drivers/simulated/faults.ts';
import type { RandomStream } from '../../drivers/simulated/random.ts';
import type { ChannelMood } from './outside.ts';
import type { Moment, World } from './world.ts';

/**
 * What a fault takes away from those who look on.
 * - `meter`: readings do not show the truth.
 * - `charge`: what was counted proves nothing.
 * - `off`: OFF is not obeyed.
 * - `hidden`: current flows that no reading can show.
 * - `line`: the line to the supply does not carry.
 * - `disk`: what is on record may be gone or incomplete.
 * - `wild`: current can run up to all that the supply can give.
 * - `forgets`: the log knows nothing of what went before.
 */
export type Effect = 'meter' | 'charge' | 'off' | 'hidden' | 'line' | 'disk' | 'wild' | 'forgets';

export interface FaultKind {
  readonly name: string;
  readonly group:
    | 'serial'
    | 'supply'
    | 'cell'
    | 'host'
    | 'clock'
    | 'database'
    | 'operator'
    | 'sentinel'
    | 'alerts';
  /** A run has to bear it: a trip is a false one. */
  readonly benign: boolean;
  readonly moments: readonly Moment[];
  readonly effects: readonly Effect[];
  readonly lastsMs: (random: RandomStream, wantedMs: number) => number;
  /** Begins it; returns how it ends, or null where it has no end of its own. */
  readonly begin: (world: World) => (() => void) | null;
}

type Begin = FaultKind['begin'];
type Lasts = FaultKind['lastsMs'];

const running: readonly Moment[] = ['on', 'striking', 'ramping', 'holding'];
const anytime: readonly Moment[] = [
  'boot',
  'arming',
  'armed',
  'starting',
  'onReceived',
  ...running,
  'trickling',
  'lifted',
  'offReceived',
  'ended',
];
const current: readonly Moment[] = [...running, 'onReceived', 'trickling'];

const logBetween =
  (low: number, high: number): Lasts =>
  (random) =>
    low * (high / low) ** random.uniform();
const once: Lasts = () => 0;
/** Until long after any run has noticed. */
const forLong = logBetween(2_000, 400_000);

function between(random: RandomStream, low: number, high: number): number {
  return low + (high - low) * random.uniform();
}

/** A fault of the model supply, for as long as the episode lasts. */
function switched<Name extends FaultName>(
  name: Name,
  input: (world: World) => FaultInput<Name>,
): Begin {
  return (world) => {
    // Two faults that are one switch of the model: the first one stays.
    if (world.instrument.faults.has(name)) return null;
    world.instrument.faults.set(name, input(world), world.host.nowMs);
    world.cable.pump();
    return () => {
      world.instrument.faults.clear(name, world.host.nowMs);
      world.cable.pump();
    };
  };
}

function spoilNext(change: (bytes: string, random: RandomStream) => string): Begin {
  return ({ cable, random }) => {
    cable.spoil = (bytes) => change(bytes, random);
    return null;
  };
}

/** One bit of one byte turns, as noise on a cable does it. */
function turnBit(bytes: string, random: RandomStream): string {
  const at = random.whole(bytes.length);
  const turned = bytes.charCodeAt(at) ^ (1 << random.whole(8));
  return bytes.slice(0, at) + String.fromCharCode(turned) + bytes.slice(at + 1);
}

function loseByte(bytes: string, random: RandomStream): string {
  const at = random.whole(bytes.length);
  return bytes.slice(0, at) + bytes.slice(at + 1);
}

/** Noise that leaves a number a number: one digit of the next reply reads as another. */
function otherDigit(bytes: string, random: RandomStream): string {
  const places = [...bytes.matchAll(/\d/g)].map(({ index }) => index);
  const at = places[random.whole(Math.max(1, places.length))];
  if (at === undefined) return bytes;
  const digit = (Number(bytes[at]) + 1 + random.whole(9)) % 10;
  return `${bytes.slice(0, at)}${digit}${bytes.slice(at + 1)}`;
}

const wantedAmps = ({ tank }: World): number =>
  Math.max(0.02, tank?.run?.state.confirmedAmps ?? 0.2);
const capVolts = ({ tank }: World): number => tank?.run?.state.plan.limits.setVolts ?? 2;

const unplugged: Begin = ({ cable }) => {
  cable.unplug();
  return () => cable.plug();
};

/** For a moment there is nothing, then another supply of the same kind, and at the end the first again. */
const exchanged: Begin = ({ cable, instrument, host, random }) => {
  cable.unplug();
  instrument.faults.set('wrongIdentity', {}, host.nowMs);
  let ended = false;
  host.after(between(random, 150, 1_200), () => {
    if (!ended) cable.plug();
  });
  return () => {
    ended = true;
    cable.unplug();
    instrument.faults.clear('wrongIdentity', host.nowMs);
    host.after(between(random, 100, 1_000), () => cable.plug());
  };
};

function diskFault(fault: 'diskFull' | 'busy' | 'io' | 'stall' | 'slow'): Begin {
  return ({ disk }) => {
    disk.faults.push(fault);
    return () => {
      disk.faults.splice(disk.faults.indexOf(fault), 1);
    };
  };
}

/** One channel or all of them. */
function channelFault(mood: ChannelMood, all = false): Begin {
  return ({ outside }) => outside.spoil(mood, all);
}

type Row = readonly [
  name: string,
  bearing: 'benign' | 'grave',
  moments: readonly Moment[],
  effects: readonly Effect[],
  lasts: Lasts,
  begin: Begin,
];

const serial: readonly Row[] = [
  ['replyLost', 'benign', anytime, [], once, spoilNext(() => '')],
  ['replyTurned', 'benign', anytime, [], once, spoilNext(turnBit)],
  ['replyShort', 'benign', anytime, [], once, spoilNext(loseByte)],
  ['replyTwice', 'benign', anytime, [], once, spoilNext((bytes) => bytes + bytes)],
  ['replyMisread', 'benign', anytime, [], once, spoilNext(otherDigit)],
  [
    'replyHeld',
    'benign',
    anytime,
    [],
    once,
    ({ cable, random }) => {
      // Long enough to be given up, so that it answers the question after its own.
      cable.holdNextMs = between(random, 150, 600);
      return null;
    },
  ],
  [
    'strayError',
    'benign',
    running,
    [],
    once,
    switched('unsolicited', ({ random }) => ({ insideReply: random.uniform() < 0.5 })),
  ],
  [
    'replySplit',
    'benign',
    anytime,
    [],
    logBetween(1_000, 60_000),
    switched('splitReplies', ({ random }) => ({ gapMs: between(random, 2, 30) })),
  ],
  [
    'repliesLost',
    'grave',
    anytime,
    ['line'],
    logBetween(2_000, 60_000),
    switched('dropReplies', ({ random }) => ({ probability: between(random, 0.1, 1) })),
  ],
  [
    'repliesGarbled',
    'grave',
    anytime,
    ['line', 'meter', 'charge'],
    logBetween(2_000, 60_000),
    switched('garble', ({ random }) => ({ probability: between(random, 0.1, 1) })),
  ],
  [
    'repliesLate',
    'grave',
    anytime,
    ['line'],
    logBetween(2_000, 60_000),
    switched('lateReplies', () => ({})),
  ],
  [
    'repliesTwice',
    'grave',
    anytime,
    ['line'],
    logBetween(2_000, 60_000),
    switched('doubleReplies', () => ({})),
  ],
  [
    'repliesSlow',
    'grave',
    anytime,
    ['line'],
    logBetween(2_000, 60_000),
    switched('slow', ({ random }) => ({ extraMs: between(random, 50, 2_000) })),
  ],
  ['echo', 'grave', anytime, ['line'], logBetween(2_000, 100_000), switched('echo', () => ({}))],
  ['endlessLine', 'grave', anytime, ['line'], forLong, switched('endlessLine', () => ({}))],
  [
    'cutReply',
    'grave',
    anytime,
    ['line'],
    forLong,
    ({ cable, random }) => {
      cable.cutReplyAfter = random.whole(6);
      return () => {
        cable.cutReplyAfter = null;
      };
    },
  ],
  [
    'mute',
    'grave',
    anytime,
    ['line'],
    forLong,
    switched('mute', ({ random }) => ({ deaf: random.uniform() < 0.5 })),
  ],
  ['unplugged', 'grave', anytime, ['line'], logBetween(200, 120_000), unplugged],
  ['otherDevice', 'grave', anytime, ['line'], logBetween(2_000, 100_000), exchanged],
  [
    'writeNeverTold',
    'grave',
    anytime,
    ['line'],
    forLong,
    ({ cable, random }) => {
      cable.writes = random.uniform() < 0.5 ? 'neverTold' : 'swallowed';
      return () => {
        cable.writes = 'sound';
      };
    },
  ],
];

const supply: readonly Row[] = [
  [
    'ignoresOn',
    'grave',
    ['armed', 'starting', 'lifted'],
    [],
    forLong,
    switched('ignoresOn', () => ({})),
  ],
  [
    'ignoresOff',
    'grave',
    [...current, 'offReceived'],
    ['off'],
    logBetween(1_000, 60_000),
    switched('ignoresOff', () => ({})),
  ],
  ['ignoresSet', 'grave', anytime, [], forLong, switched('ignoresSet', () => ({}))],
  [
    'restart',
    'grave',
    anytime,
    ['wild'],
    once,
    ({ instrument, host, random, cable }) => {
      const keepsOutput = random.uniform() < 0.5;
      const bootMs = between(random, 20, 3_000);
      instrument.faults.set('restart', { keepsOutput, bootMs }, host.nowMs);
      cable.pump();
      return null;
    },
  ],
  [
    'currentRunsAway',
    'grave',
    current,
    ['wild'],
    forLong,
    switched('overCurrent', ({ random }) => ({ factor: between(random, 1.2, 3) })),
  ],
  [
    'voltageRunsAway',
    'grave',
    current,
    ['wild'],
    forLong,
    switched('overVoltage', ({ random }) => ({ excessVolts: between(random, 0.5, 5) })),
  ],
  [
    'knob',
    'grave',
    [...current, 'armed', 'lifted'],
    ['wild'],
    once,
    ({ instrument, host, random, tank }) => {
      const amps = (tank?.run?.state.confirmedAmps ?? 0.2) * between(random, 0.3, 1.6);
      const turned = random.uniform() < 0.7 ? { amps } : { volts: between(random, 0.2, 5) };
      instrument.faults.set('knob', turned, host.nowMs);
      return null;
    },
  ],
  [
    'outputKey',
    'grave',
    anytime,
    [],
    once,
    ({ instrument, host }) => {
      instrument.faults.set('outputKey', {}, host.nowMs);
      return null;
    },
  ],
  [
    'stuckMeter',
    'grave',
    [...running, 'starting'],
    ['meter', 'charge'],
    logBetween(20_000, 600_000),
    switched('stuckReading', () => ({})),
  ],
  [
    'noReading',
    'grave',
    anytime,
    ['meter', 'charge', 'line'],
    forLong,
    switched('badReading', ({ random }) => ({
      text: ['9.9E37', '9.91E37', 'NAN', 'INF', '', '-', '1e999'][random.whole(7)] ?? '9.9E37',
    })),
  ],
  [
    'deadMeter',
    'grave',
    ['on', 'striking', 'holding'],
    ['meter', 'charge'],
    forLong,
    switched('badReading', () => ({ text: '0.000' })),
  ],
  [
    'driftingMeter',
    'grave',
    ['on', 'striking', 'holding'],
    ['meter', 'charge'],
    logBetween(60_000, 6_000_000),
    switched('driftingMeter', ({ random }) => ({ ampsSharePerHour: between(random, -0.2, 0.2) })),
  ],
  [
    'weldedRelay',
    'grave',
    [...current, 'offReceived'],
    ['off'],
    logBetween(1_000, 60_000),
    switched('saysOff', () => ({ meterToo: false })),
  ],
  [
    'hiddenCurrent',
    'grave',
    current,
    ['off', 'hidden', 'charge', 'meter'],
    logBetween(1_000, 60_000),
    switched('saysOff', () => ({ meterToo: true })),
  ],
];

const cell: readonly Row[] = [
  [
    'short',
    'grave',
    current,
    ['wild'],
    forLong,
    switched('shortCircuit', ({ random }) => ({ ohms: between(random, 0.0005, 0.006) })),
  ],
  ['open', 'grave', current, [], forLong, switched('openCircuit', () => ({}))],
  [
    'badContact',
    'grave',
    [...current, 'starting'],
    [],
    logBetween(5_000, 4_000_000),
    switched('contactResistance', (world) => ({
      ohms: (capVolts(world) / wantedAmps(world)) * between(world.random, 0.3, 4),
    })),
  ],
  [
    'anodeFilm',
    'grave',
    running,
    [],
    logBetween(60_000, 6_000_000),
    switched('anodeFilm', ({ random }) => ({ ohmsPerHour: between(random, 1, 200) })),
  ],
  [
    'looseContact',
    'grave',
    current,
    ['charge'],
    logBetween(1_000, 60_000),
    ({ host, instrument, random }) => {
      let ended = false;
      const open = (): void => {
        if (ended) return;
        instrument.faults.set('openCircuit', {}, host.nowMs);
        host.after(between(random, 10, 500), () => {
          instrument.faults.clear('openCircuit', host.nowMs);
          host.after(between(random, 20, 4_000), open);
        });
      };
      open();
      return () => {
        ended = true;
        instrument.faults.clear('openCircuit', host.nowMs);
      };
    },
  ],
  [
    'reverseVolts',
    'grave',
    current,
    [],
    forLong,
    switched('reverseEmf', ({ random }) => ({ volts: between(random, 0.1, 3) })),
  ],
];

const hostFaults: readonly Row[] = [
  [
    'shortStall',
    'benign',
    anytime,
    [],
    once,
    ({ host, random }) => {
      host.stall(between(random, 20, 400));
      return null;
    },
  ],
  [
    'longStall',
    'grave',
    anytime,
    [],
    once,
    ({ host, random }) => {
      host.stall(between(random, 400, 10_000));
      return null;
    },
  ],
  [
    'killed',
    'grave',
    anytime,
    [],
    once,
    (world) => {
      world.killControl('died', 'The control process was ended by SIGKILL.');
      return null;
    },
  ],
  [
    'stopped',
    'grave',
    anytime,
    [],
    once,
    ({ host }) => {
      // Stopped for good: only whoever kills it ends this.
      host.stall(600_000);
      return null;
    },
  ],
  [
    'killedWhileStuckOn',
    'grave',
    current,
    ['off'],
    logBetween(5_000, 60_000),
    (world) => {
      // Nobody's OFF is obeyed for a while: the sentinel gives up, and the next control process has it.
      const end = switched('ignoresOff', () => ({}))(world);
      world.killControl('died', 'The control process was ended by SIGKILL.');
      return end;
    },
  ],
  [
    'suspended',
    'grave',
    anytime,
    [],
    once,
    ({ host, random }) => {
      host.suspend(1_000 * (8 * 3_600) ** random.uniform());
      return null;
    },
  ],
  [
    'rebooted',
    'grave',
    anytime,
    [],
    once,
    (world) => {
      world.reboot(between(world.random, 8_000, 90_000));
      return null;
    },
  ],
  [
    'powerCut',
    'grave',
    anytime,
    [],
    once,
    (world) => {
      const downMs = between(world.random, 10_000, 90_000);
      const back = { keepsOutput: false, bootMs: downMs / 2 };
      world.instrument.faults.set('restart', back, world.host.nowMs);
      world.reboot(downMs);
      return null;
    },
  ],
];

const clock: readonly Row[] = [
  [
    'wallStep',
    'benign',
    anytime,
    [],
    once,
    ({ host, random }) => {
      host.stepWall((random.uniform() < 0.5 ? -1 : 1) * between(random, 1_000, 3_600_000));
      return null;
    },
  ],
  [
    'wallSlew',
    'benign',
    anytime,
    [],
    logBetween(10_000, 1_000_000),
    ({ host, random }) => {
      host.slewWall(between(random, -0.05, 0.05));
      return () => host.slewWall(0);
    },
  ],
];

const database: readonly Row[] = [
  ['diskSlow', 'benign', anytime, [], logBetween(1_000, 60_000), diskFault('slow')],
  ['diskFull', 'grave', anytime, ['disk'], forLong, diskFault('diskFull')],
  ['diskBusy', 'grave', anytime, ['disk'], forLong, diskFault('busy')],
  ['diskError', 'grave', anytime, ['disk'], forLong, diskFault('io')],
  [
    'diskHangs',
    'benign',
    anytime,
    ['disk'],
    (random) => between(random, 500, 6_000),
    diskFault('stall'),
  ],
  [
    'diskGone',
    'grave',
    anytime,
    ['disk'],
    (random) => between(random, 31_000, 120_000),
    diskFault('stall'),
  ],
  [
    'fileDamaged',
    'grave',
    anytime,
    ['disk', 'forgets'],
    once,
    (world) => {
      // Found at the start: the damaged file is kept aside and a fresh one begun.
      world.reboot(between(world.random, 8_000, 20_000));
      world.disk.damage();
      return null;
    },
  ],
];

const person: readonly Row[] = [
  [
    'doubleClick',
    'benign',
    ['boot'],
    [],
    forLong,
    ({ person: hands }) => hands.misbehave('doubleClick'),
  ],
  ['staleTab', 'benign', ['boot'], [], forLong, ({ person: hands }) => hands.misbehave('staleTab')],
  [
    'twoBrowsers',
    'benign',
    ['boot'],
    [],
    forLong,
    ({ person: hands }) => hands.misbehave('twoBrowsers'),
  ],
  ['unitSlip', 'benign', ['boot'], [], forLong, ({ person: hands }) => hands.misbehave('unitSlip')],
  [
    'usedByHand',
    'grave',
    ['boot'],
    [],
    logBetween(8_000, 90_000),
    (world) => {
      const { instrument, host, random, cable } = world;
      const press = (on: boolean): void => {
        instrument.faults.set('outputKey', { on }, host.nowMs);
        cable.pump();
      };
      // Only before the first run: what is on in a run is the run's own.
      if (world.tank?.run != null) return null;
      const volts = between(random, 1, 3);
      instrument.faults.set('knob', { volts, amps: between(random, 0.1, 0.5) }, host.nowMs);
      press(true);
      return () => press(false);
    },
  ],
  [
    'stopDuringArm',
    'grave',
    ['arming', 'starting', 'onReceived'],
    [],
    once,
    ({ person: hands }) => {
      hands.stop();
      return null;
    },
  ],
  [
    'stopsByHand',
    'benign',
    [...running, 'trickling', 'lifted'],
    [],
    once,
    ({ person: hands }) => {
      hands.stop();
      return null;
    },
  ],
  [
    'liftsByHand',
    'benign',
    [...running, 'trickling'],
    [],
    once,
    ({ person: hands, random }) => {
      hands.liftFor(between(random, 3_000, 60_000));
      return null;
    },
  ],
  [
    'stopBeforeOn',
    'grave',
    ['onWanted'],
    [],
    once,
    ({ person: hands }) => {
      hands.stop();
      return null;
    },
  ],
];

const sentinel: readonly Row[] = [
  [
    'sentinelRefuses',
    'grave',
    ['boot', 'arming'],
    [],
    logBetween(1_000, 30_000),
    ({ sentinel: guard }) => {
      if (guard.mood !== 'well') return null;
      guard.mood = 'refuses';
      return () => {
        if (guard.mood === 'refuses') guard.mood = 'well';
      };
    },
  ],
  [
    'sentinelHangs',
    'grave',
    anytime,
    [],
    logBetween(1_000, 30_000),
    ({ sentinel: guard }) => {
      if (guard.mood !== 'well') return null;
      guard.mood = 'mute';
      return () => guard.goOn();
    },
  ],
  [
    'sentinelLost',
    'grave',
    anytime,
    [],
    once,
    (world) => {
      world.loseSentinel(between(world.random, 3_000, 20_000), false);
      return null;
    },
  ],
  [
    'bothLost',
    'grave',
    anytime,
    [],
    once,
    (world) => {
      world.loseSentinel(between(world.random, 3_000, 60_000), true);
      return null;
    },
  ],
];

/** Around the ends of runs, where there is something to be told. */
const telling: readonly Moment[] = ['boot', 'on', 'holding', 'offReceived', 'ended'];
const whileTelling = logBetween(4_000, 1_200_000);

const alerts: readonly Row[] = [
  ['channelTimesOut', 'benign', telling, [], whileTelling, channelFault('timesOut')],
  ['channelRefuses', 'benign', telling, [], whileTelling, channelFault('refuses')],
  ['channelServerError', 'benign', telling, [], whileTelling, channelFault('serverError')],
  ['channelLosesAnswers', 'benign', telling, [], whileTelling, channelFault('losesAnswers')],
  ['channelLosesLetters', 'benign', telling, [], whileTelling, channelFault('losesLetters')],
  ['networkGone', 'benign', telling, [], whileTelling, channelFault('noNetwork', true)],
  [
    'killedBeforeTelling',
    'grave',
    ['on', 'holding', 'onReceived'],
    [],
    logBetween(60_000, 4_000_000),
    (world) => {
      const { outside, host, random } = world;
      const kill = (): void => {
        // Its row may be on disk by then or not; the letter never leaves, or its answer never comes.
        const waitMs = random.uniform() < 0.3 ? 0 : between(random, 1, 60);
        host.after(waitMs, () =>
          world.killControl('died', 'The control process was ended by SIGKILL.'),
        );
      };
      outside.onNextSending = kill;
      return () => {
        if (outside.onNextSending === kill) outside.onNextSending = null;
      };
    },
  ],
  [
    'personSleeps',
    'benign',
    [...running, 'ended'],
    [],
    logBetween(100_000, 2_400_000),
    ({ person: hands }) => hands.misbehave('sleeps'),
  ],
];

function kindsOf(group: FaultKind['group'], rows: readonly Row[]): readonly FaultKind[] {
  return rows.map(([name, bearing, moments, effects, lastsMs, begin]) => {
    return { name, group, benign: bearing === 'benign', moments, effects, lastsMs, begin };
  });
}

/** All faults. */
export const catalogue: readonly FaultKind[] = [
  ...kindsOf('serial', serial),
  ...kindsOf('supply', supply),
  ...kindsOf('cell', cell),
  ...kindsOf('host', hostFaults),
  ...kindsOf('clock', clock),
  ...kindsOf('database', database),
  ...kindsOf('operator', person),
  ...kindsOf('sentinel', sentinel),
  ...kindsOf('alerts', alerts),
];
