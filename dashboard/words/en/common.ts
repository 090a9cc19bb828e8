/** What several pages say, in English; what one page alone says stands in the file of that page beside this one. */

import type { Lifecycle, OutputBelief, Paint, StageKind } from '../../../daemon/run/model.ts';

const plural = (count: number, one: string, many: string): string =>
  `${count} ${count === 1 ? one : many}`;

/** What went wrong on a line so far; a line that is well says nothing of it. */
function lineFaults(timeouts: number, garbled: number): string {
  const late = timeouts > 0 ? [plural(timeouts, 'time-out', 'time-outs')] : [];
  const faults = garbled > 0 ? [...late, `${garbled} garbled`] : late;
  return faults.length === 0 ? '' : `; ${faults.join(', ')}`;
}

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
  /** The title of the browser's tab. */
  titled: (page: string) => `${page} · Nightbath`,
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
  look: { label: 'Look', system: 'as the system', dark: 'night', light: 'day' },
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
      `The part that runs the bench is away since ${since}. The numbers are the last known ones; it is being started again.`,
    outdated: 'This page is of another version than Nightbath itself.',
    reload: 'Reload this page',
  },
  notFound: 'There is no page at this address.',
  toBench: 'To the bench',
  failed: 'This could not be loaded.',
  again: 'Try again',
  loading: 'Loading.',
  daemon: {
    silent: 'Nightbath does not answer.',
    answered: (status: number) => `Nightbath refused it and gave no reason (${status}).`,
  },
  off: {
    label: 'Off switch',
    turnOff: (tank: string) => `Turn off ${tank}`,
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
    ended: (at: string) => `It ended at ${at}, and asks until somebody acknowledges it.`,
    goesOn: (at: string) => `acknowledged at ${at}, goes on`,
    goingOn: 'Acknowledged alarms that go on',
  },
  link: {
    connected: 'Supply connected',
    connecting: 'Looking for the supply',
    lost: 'Supply lost',
    health: (answer: string, timeouts: number, garbled: number) =>
      `${answer === '' ? 'Not asked yet' : `Answers in ${answer} ms`}${lineFaults(timeouts, garbled)}.`,
  },
  run: {
    stale: 'Waits until the page is live again.',
    busy: 'Waits for the answer.',
    ended: {
      reached: 'Target reached',
      stopped: 'Stopped',
      tripped: 'Tripped',
      interrupted: 'Interrupted',
    },
  },
} as const;
