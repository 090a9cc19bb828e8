/** What is measured: every benchmark by name, with the figures it gives and their goals. */

const ratio = 'ratio';
const megabytes = 'MB';

/**
 * A figure's goal is `most` or `least`; one without a goal is for information. A benchmark's file is
 * its name, and its `measure` answers every figure by id.
 */
export const benchmarks = [
  {
    name: 'poll-cycle',
    figures: {
      slow: { what: "driver's poll p50 / time of its bytes on the wire, 9600 baud", most: 1.06 },
      fast: { what: "driver's poll p50 / time of its bytes on the wire, 115200 baud", most: 1.2 },
      slowPlain: { what: 'the same by plain serialport + ReadlineParser, 9600 baud' },
      fastPlain: { what: 'the same by plain serialport + ReadlineParser, 115200 baud' },
    },
  },
  {
    name: 'software-cost',
    figures: {
      cost: {
        what: 'poll p50 / plain serialport + ReadlineParser (for pyvisa-py, which is not available)',
      },
    },
  },
  {
    name: 'store',
    figures: {
      overview: { what: '24 h overview in 2000 buckets / SQL GROUP BY of the rows', most: 0.01 },
      run: { what: 'commit of a new run / bare pwrite + fdatasync in Node' },
      event: { what: 'commit of an event / bare pwrite + fdatasync in Node' },
      readings: { what: 'commit of two readings / bare pwrite + fdatasync in Node' },
      bytes: { what: 'bytes on disk for a reading, rows and summaries', unit: 'bytes' },
    },
  },
  {
    name: 'live',
    figures: {
      cpu: { what: "web's CPU for a client message, 100 clients / raw ws, same texts", most: 1.3 },
    },
  },
  {
    name: 'memory',
    figures: {
      rest: { what: 'all three processes at rest / three bare Node processes', most: 2 },
      restSentinel: { what: 'sentinel at rest', unit: megabytes },
      restControl: { what: 'control at rest', unit: megabytes },
      restWeb: { what: 'web at rest', unit: megabytes },
      runSentinel: { what: 'sentinel at its highest in 20 s of a hurried run', unit: megabytes },
      runControl: { what: 'control at its highest in 20 s of a hurried run', unit: megabytes },
      runWeb: { what: 'web at its highest in 20 s of a hurried run', unit: megabytes },
    },
  },
  {
    name: 'start',
    figures: {
      listening: { what: 'start of serve to listening / boot of bare Node', most: 4 },
    },
  },
  {
    name: 'page',
    figures: {
      begin: {
        what: 'JavaScript of the heaviest page until it is live and usable, gz / lit + uPlot, gz',
        most: 1.6,
      },
      open: {
        what: 'the same once everything on the page was opened',
        most: 1.6,
      },
    },
  },
  {
    name: 'first-frame',
    figures: {
      shown: {
        what: 'the Bench page by its address until a live frame stands on it, on loopback',
        unit: 'ms',
        most: 1000,
      },
      times: {
        what: 'the same / an empty page of the same daemon until its first live frame has come',
      },
    },
  },
  {
    name: 'open-run',
    figures: {
      click: {
        what: 'a run of 24 h at 4 Hz, from the click in the Log to its curves and picture',
        unit: 'ms',
        most: 500,
      },
      cold: {
        what: 'the same by its address in a browser that knows nothing of the page',
        unit: 'ms',
        most: 500,
      },
    },
  },
  {
    name: 'night',
    figures: {
      hours: {
        what: 'simulated hours for a second of one core, whole control stack, 4 Hz',
        unit: 'h/s',
        least: 15,
      },
    },
  },
  {
    name: 'mesh',
    figures: {
      binary: { what: 'binary STL of 1 M triangles, file to answer / admesh', most: 1 },
      binaryAnew: { what: 'the same in a thread that starts anew / admesh' },
      ascii: { what: 'ASCII STL of 0.44 M triangles, file to answer / admesh', most: 1 },
      volume: {
        what: "difference of the volume of a ring of 0.1 M triangles from admesh's",
        most: 1e-4,
      },
      area: { what: "difference of the area of 1 M triangles from manifold's", most: 1e-6 },
      solid: { what: "difference of their volume from manifold's", most: 1e-6 },
    },
  },
  {
    name: 'arithmetic',
    figures: {
      charge: { what: 'counting the charge of a reading / a plain trapezoid loop' },
      step: { what: "run machine's step for a reading / a plain trapezoid loop" },
    },
  },
];

/** Goals that nothing here measures, with the reason. */
export const unmeasured = [
  'live update of the charts over bare uPlot: it is the browser’s, and left out for now',
  'poll cycles judged late beside 50 clients, a replay and an export',
  'archived bytes over REAL rows, and 24 h detail read-back: there are no packed blocks yet',
  'growth of memory: it takes a soak of hours',
];

export function unitOf(figure) {
  return figure.unit ?? ratio;
}

/** The goal as it is printed; null for a figure without one. */
export function goalOf({ most, least }) {
  if (most !== undefined) return `<= ${most}`;
  return least === undefined ? null : `>= ${least}`;
}

/** Whether the goal is met; null without a goal or without a value. */
export function judge({ most, least }, value) {
  if (value === null) return null;
  if (most !== undefined) return value <= most;
  return least === undefined ? null : value >= least;
}
