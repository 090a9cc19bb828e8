/** Every sentence of the dashboard, in English; those of the Plan page stand in words-plan.ts and words-piece.ts. */

import type { Lifecycle, OutputBelief, Paint, StageKind } from '../daemon/run/model.ts';

const plural = (count: number, one: string, many: string): string =>
  `${count} ${count === 1 ? one : many}`;

const lifecycles: Readonly<Record<Lifecycle, string>> = {
  planned: 'Planned',
  armed: 'Armed',
  striking: 'Strike',
  ramping: 'Ramp',
  holding: 'Hold',
  lifted: 'Lifted',
  trickling: 'Trickle',
  finished: 'Finished',
  stopped: 'Stopped',
  tripped: 'Tripped',
  interrupted: 'Interrupted',
};

const stages: Readonly<Record<StageKind, string>> = {
  strike: 'Strike',
  ramp: 'Ramp',
  hold: 'Hold',
  trickle: 'Trickle',
};

const paints: Readonly<Record<Paint, string>> = {
  copper: 'Copper paint',
  silver: 'Silver paint',
  graphite: 'Graphite paint',
  none: 'None, the piece is metal',
};

const outputs: Readonly<Record<OutputBelief, (since: string) => string>> = {
  confirmedOff: (since) => `Output off, confirmed ${since}`,
  on: (since) => `Output on since ${since}`,
  offRequested: (since) => `Off asked for at ${since}, not confirmed yet`,
  unknown: () => 'Output not known: the supply has not answered',
};

export const words = {
  product: 'Nightbath',
  lifecycles,
  stages,
  paints,
  outputs,
  nav: {
    label: 'Pages',
    bench: 'Bench',
    plan: 'Plan',
    log: 'Log',
    ledger: 'Baths',
    alerts: 'Alerts',
    setup: 'Setup',
    skip: 'To the content',
  },
  look: { label: 'Light', system: 'as the system', dark: 'night', light: 'day' },
  cautions: {
    title: 'Cautions',
    list: [
      'Baths are corrosive and some are poisonous: gloves, eye protection, moving air, a spill tray.',
      'This is software and can fail. It is no emergency stop. Know where the supply’s own switch is, and fit a mains timer if you sleep while it runs.',
      'Nothing that burns beside the tank; leads where nobody trips; no children, no pets.',
      'Local rules and licensed practice come first, for the work and for the waste.',
    ],
  },
  simulated: 'Simulated tank. No real current.',
  hurried: (times: number) => `Its clock runs ${times} times faster; times are its own.`,
  connection: {
    connecting: 'Connecting to the bench.',
    away: (since: string) =>
      `Not live since ${since}. The numbers are the last known ones. Trying again by itself.`,
    control: (since: string) =>
      `The control process is away since ${since}. The numbers are the last known ones; it is being started again.`,
    outdated: 'This page and the daemon are of different versions.',
    reload: 'Reload this page',
  },
  notFound: 'There is no page at this address.',
  failed: 'This could not be loaded.',
  again: 'Try again',
  loading: 'Loading.',
  off: {
    label: 'Off switch',
    turnOff: 'Turn off',
    sending: (tank: string) => `${tank}: turning off`,
    done: (tank: string, at: string) => `${tank}: output off, confirmed ${at}.`,
    failed: (tank: string) => `${tank}: not confirmed. Switch the supply off by hand.`,
    retrying: 'Trying again by itself.',
    note: 'Ends the run. Not an emergency stop.',
  },
  alarm: {
    priorities: { stopped: 'Stopped', 'act-soon': 'Act soon', note: 'Note' },
    acknowledge: 'Acknowledge',
    more: (count: number) => `and ${count} more`,
    cause: 'What it means',
    remedy: 'What to do',
    ended: (at: string) => `It ended at ${at}. It asks until somebody acknowledges it.`,
    goesOn: (at: string) => `acknowledged at ${at}, goes on`,
    goingOn: 'Acknowledged alarms that go on',
  },
  bench: {
    title: 'Bench',
    firstTitle: 'How it works',
    steps: [
      [
        'Describe the piece',
        'Measure its parts. The plan works out area, current, time and thickness.',
      ],
      [
        'Read the plan, arm, start',
        'Arming sets the limits in the supply. Starting is a press of its own.',
      ],
      [
        'Leave it and look in',
        'It stops at the target, cuts out on a fault, and keeps a log to replay.',
      ],
    ],
    putAway: 'Put this away',
    demo: 'Run the demo night',
    demoNote: 'A whole night in about two minutes, on the simulated tank.',
    night: 'Night view',
    planHere: 'Plan a run',
    bath: 'Its bath',
    look: 'Look at the run',
    start: 'Go to start',
    idle: 'No run. Free for a plan.',
    noTanks: 'No tanks yet. The daemon has not said what is on the bench.',
    of: (target: string) => `of ${target}`,
    left: 'left',
    done: 'done about',
  },
  link: {
    connected: 'Supply connected',
    connecting: 'Looking for the supply',
    lost: 'Supply lost',
    health: (cycle: string, timeouts: number, garbled: number) =>
      `Answers in ${cycle} ms; ${plural(timeouts, 'time-out', 'time-outs')}, ${garbled} garbled.`,
  },
  rings: {
    magnified: (factor: number) => `×${factor} magnified`,
    thicker: (factor: number) => `metal ×${factor}`,
    description: (
      range: string,
      target: string,
      hours: number,
      lifts: number,
      alarms: number,
    ): string =>
      `Cross-section: ${range} of metal grown, target ${target}; ` +
      `${plural(hours, 'hour', 'hours')}, ${plural(lifts, 'lift', 'lifts')}, ` +
      `${plural(alarms, 'alarm', 'alarms')}.`,
    caption: (part: string) =>
      `Cut through: ${part}. A ring for each hour; dashed, the target; soft edge, the uncertainty.`,
    gap: 'Dark gap: lifted.',
    notch: 'Notch: alarm.',
  },
  run: {
    none: 'No run on this tank.',
    armedTitle: 'Ready to start?',
    armedNote: 'Current flows from the moment you press Start. Hands out of the bath.',
    start: (current: string) => `Start at ${current}`,
    disarm: 'Take it back',
    notReady: 'Start waits until the limits are read back from the supply.',
    stale: 'Waits until the page is live again.',
    busy: 'Waits for the answer.',
    lift: 'Lift',
    putBack: 'Put back',
    end: 'End the run',
    liftNote:
      'Lift turns the output off and keeps the charge, to look at the piece. Put back ramps up again.',
    thickness: 'Thickness, estimated mean',
    range: (range: string, target: string) => `${range}, target ${target}`,
    left: 'Time left',
    ends: 'Done about',
    current: 'Current',
    wanted: (text: string) => `wanted ${text}`,
    voltage: 'Voltage',
    limit: (text: string) => `limit ${text}`,
    charge: 'Charge',
    of: (text: string) => `of ${text}`,
    density: 'Density',
    mass: 'Mass',
    area: 'Area now',
    from: 'from',
    elapsed: 'Since start',
    charts: 'Curves',
    events: 'Events',
    noEvents: 'Nothing has happened yet.',
    ended: {
      reached: 'Target reached',
      stopped: 'Stopped',
      tripped: 'Tripped',
      interrupted: 'Interrupted',
    },
    carryOn: 'Carry on as a new run',
    carryOnNote: 'A new run, linked to this one, with its charge carried over.',
    weighIn: 'Weigh it in',
    weighBefore: 'Weigh the piece first: its mass now tells in the morning how much metal it took.',
    replay: 'Replay it',
    another: 'Plan another',
    supply: 'Supply',
    output: 'Output',
  },
  sensors: {
    title: 'Bath',
    states: { low: 'below its limit', high: 'above its limit' },
    between: (low: string, high: string) => `limits ${low} to ${high}`,
    atLeast: (low: string) => `at least ${low}`,
    atMost: (high: string) => `at most ${high}`,
    range: (low: string, high: string) => `${low} to ${high} so far`,
    csv: 'Bath as CSV',
  },
  charts: {
    current: 'Current',
    wanted: 'wanted',
    voltage: 'Voltage',
    thickness: 'Thickness',
    empty: 'The curves begin with the first reading.',
    table: 'Show as a table',
    time: 'Time',
    summary: (current: string, voltage: string, thickness: string) =>
      `Current between ${current}; voltage between ${voltage}; thickness grown to ${thickness}.`,
    keys: 'Arrow keys move the reading line.',
  },
  replay: {
    banner: 'Replay',
    bannerNote: 'A recording, not the bench now.',
    play: 'Play',
    pause: 'Pause',
    position: 'Position in the run',
    speed: 'Speed',
    times: (speed: number) => `×${speed}`,
    next: 'Next event',
    previous: 'Event before',
    noCurve: 'Nothing was recorded: the run never started.',
    csv: 'Readings as CSV',
    json: 'All of it as JSON',
    stage: 'Stage',
    live: 'This run is on now.',
    toLive: 'See it live',
  },
} as const;
