/** The words of the printed report of a run, in English. */

const plural = (count: number, one: string, many: string): string =>
  `${count} ${count === 1 ? one : many}`;

export const reportWords = {
  title: 'Run report',
  print: 'Print, or save as PDF',
  back: 'Back to the replay',
  probe: 'A check or a drill has no report; what it found stands in its replay.',
  running: 'On now. The figures are those of this moment.',
  notStarted: 'It never started, so nothing was recorded.',
  when: (from: string, to: string, lasted: string) => `${from} to ${to}, ${lasted}`,
  since: (from: string) => `since ${from}`,
  figures: {
    thickness: 'Thickness, estimated mean',
    range: (range: string) => `range ${range}`,
    target: 'Target',
    charge: 'Charge',
    between: (low: string, high: string) => `between ${low} and ${high}, for gaps`,
    planned: (text: string) => `planned ${text}`,
    mass: 'Metal, estimated',
    density: 'Density of the hold',
    area: 'Area at the start',
    lasted: 'Took',
    carried: (text: string) => `with ${text} carried over from an earlier run`,
  },
  curves: 'Curves',
  curve: { current: 'Current', voltage: 'Voltage', thickness: 'Thickness' },
  key: 'Dashed: the wanted current and the target. Marks at the top: events; a block is an alarm.',
  piece: 'Piece',
  part: { name: 'Part', kind: 'Kind', sizes: 'Sizes', count: 'Number', plated: 'Plated' },
  moreParts: (count: number) =>
    `${plural(count, 'part', 'parts')} more; the JSON of the run holds all.`,
  ofShare: (percent: string) => `${percent}\u00a0%`,
  plan: 'Plan',
  stage: { name: 'Stage', density: 'Density', lasts: 'Lasts' },
  upTo: (from: string, to: string) => `${from} to ${to}`,
  untilTarget: (text: string) => `until the target, about ${text}`,
  limits: (amps: string, volts: string, hours: string, charge: string) =>
    `Limits in the supply and the watch: ${amps}, ${volts}, ${hours}, ${charge}.`,
  paint: (text: string) => `Surface: ${text}.`,
  notices: 'The plan’s own cautions',
  weighIn: 'Weigh-in',
  weighed: (before: string, after: string) => `Weighed ${before} before and ${after} after.`,
  gain: 'Gained',
  expected: (text: string) => `expected ${text}`,
  efficiency: 'Efficiency',
  plannedEfficiency: (range: string, planned: string) => `${range}, planned ${planned}`,
  byMass: 'Thickness by mass',
  byCallipers: 'Thickness by callipers',
  places: (count: number) => `${plural(count, 'place measured', 'places measured')}.`,
  notes: 'Notes',
  photo: 'a photo',
  moreNotes: (count: number) => `${plural(count, 'note', 'notes')} more in the replay.`,
  events: 'Events',
  noEvents: 'Nothing happened.',
  alarmMark: 'Alarm',
  moreEvents: (count: number) =>
    `${plural(count, 'event', 'events')} more; the CSV of the events holds all.`,
  bath: 'Bath',
  heard: (name: string, low: string, high: string) => `${name}: ${low} to ${high}.`,
  cautions: 'Cautions',
  made: (studio: string, at: string, runId: string) =>
    `${studio === '' ? '' : `${studio}. `}From the log of Nightbath, ${at}. Run ${runId}.`,
  estimate:
    'Thickness and mass follow from the charge that was counted and from the area as it was entered; they are estimates until the piece is weighed or measured.',
} as const;
