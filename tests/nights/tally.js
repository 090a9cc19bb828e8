/** Counts what a campaign has seen, and says what a campaign of its size should have seen as well. */

/** Campaigns from this size on must have reached everything below. */
export const fullCampaign = 2_000;
/** From this size on, all of it but what is rare; and every fault, which is drawn often enough. */
export const campaignOfCi = 1_000;

/**
 * Not among them: tooMuchCharge. The stop at the target comes before it in nearly every night, as long
 * as that works; the mutant without it reaches this one. Nor the limits of a level, which are those of
 * a thermometer in other words.
 */
const tripReasons = [
  'overCurrent',
  'overVoltage',
  'openCircuit',
  'shortCircuit',
  'notFollowing',
  'noCharge',
  'setPointChanged',
  'outputFoundOff',
  'outputFoundOn',
  'supplyRestarted',
  'supplyTripped',
  'stuckReading',
  'silence',
  'tooLong',
  'clockGap',
  'programRefused',
  'outputRefused',
  'wrongDevice',
  'databaseLost',
  'sentinelLost',
  'paintNotCovering',
  'bathTooWarm',
  'sensorMissing',
];

/** Faults that trip nothing by themselves and show as an alarm. */
const alarmsOnly = ['controlLost', 'offUnconfirmed'];

const powered = ['striking', 'ramping', 'holding', 'trickling'];
/** What people do beside a run and its ordinary ends. */
const acts = [
  'densityRaised',
  'densityLowered',
  'targetRaised',
  'targetLowered',
  'changedWhileLifted',
  'changeRefused',
  'circuitProbed',
  'drillPassed',
  'steadyCurrent',
  'probeStopped',
  'probeTripped',
  'sensorWell',
  'sensorSilent',
  'sensorNonsense',
  'sensorGone',
  'bathWarm',
];

const edges = [
  'planned > armed',
  'armed > striking',
  'armed > stopped',
  'armed > tripped',
  'armed > interrupted',
  'striking > ramping',
  'ramping > holding',
  'holding > finished',
  'holding > trickling',
  'trickling > finished',
  ...powered.flatMap((state) => [
    `${state} > lifted`,
    `${state} > stopped`,
    `${state} > tripped`,
    `${state} > interrupted`,
  ]),
  'lifted > striking',
  'lifted > ramping',
  'lifted > stopped',
  'lifted > tripped',
  'lifted > interrupted',
];

/** Of these there are a few in a thousand nights, and at times none. */
const rare = new Set([
  'noCharge',
  'outputFoundOn',
  'overVoltage',
  'paintNotCovering',
  'programRefused',
  'sentinelLost',
  'setPointChanged',
  'supplyRestarted',
  'tooLong',
  'holding > interrupted',
  'lifted > interrupted',
  'lifted > tripped',
  'ramping > interrupted',
  'striking > interrupted',
  'trickling > lifted',
  'trickling > stopped',
]);

export function emptyTally() {
  return {
    nights: 0,
    faultless: 0,
    simulatedMs: 0,
    violations: 0,
    falseTrips: 0,
    trips: 0,
    finished: 0,
    cpuMs: 0,
    faults: new Map(),
    tripCodes: new Map(),
    alarmCodes: new Map(),
    edges: new Map(),
    acts: new Map(),
  };
}

function count(map, names) {
  for (const name of names) map.set(name, (map.get(name) ?? 0) + 1);
}

export function take(tally, report) {
  tally.nights += 1;
  if (report.faultless) tally.faultless += 1;
  tally.simulatedMs += report.simulatedMs;
  tally.violations += report.violations.length;
  tally.falseTrips += report.falseTrips;
  tally.trips += report.trips;
  tally.finished += report.finished;
  tally.cpuMs += report.cpuMs ?? 0;
  count(tally.faults, report.faults);
  count(tally.tripCodes, report.tripCodes);
  count(tally.alarmCodes, report.alarmCodes);
  count(tally.edges, report.edges);
  count(tally.acts, report.acts);
}

const sorted = (map) => Object.fromEntries([...map].toSorted((one, other) => other[1] - one[1]));
const rounded = (value) => Number(value.toFixed(2));

export function summaryOf(tally, seconds) {
  return {
    nights: tally.nights,
    seconds: rounded(seconds),
    nightsPerSecond: rounded(tally.nights / seconds),
    simulatedHours: rounded(tally.simulatedMs / 3_600_000),
    simulatedHoursPerSecond: rounded(tally.simulatedMs / 3_600_000 / seconds),
    cpuSecondsPerNight: Number((tally.cpuMs / 1000 / Math.max(1, tally.nights)).toFixed(3)),
    faultlessNights: tally.faultless,
    violations: tally.violations,
    trips: tally.trips,
    falseTrips: tally.falseTrips,
    targetsReached: tally.finished,
    faultsFired: sorted(tally.faults),
    tripReasons: sorted(tally.tripCodes),
    alarms: sorted(tally.alarmCodes),
    edges: sorted(tally.edges),
    acts: sorted(tally.acts),
  };
}

/** What a campaign of this size has to have reached and has not, as sentences; see the two bounds. */
export function coverageGaps(tally, faultNames = []) {
  if (tally.nights < campaignOfCi) return [];
  const isAsked = (name) => tally.nights >= fullCampaign || !rare.has(name);
  const missing = (kind, names, seen) =>
    names.filter((name) => isAsked(name) && !seen.has(name)).map((name) => `${kind} ${name}`);
  return [
    ...missing('the fault', faultNames, tally.faults),
    ...missing('a trip for', tripReasons, tally.tripCodes),
    ...missing('the alarm', alarmsOnly, tally.alarmCodes),
    ...missing('the way', edges, tally.edges),
    ...missing('the act', acts, tally.acts),
  ];
}
