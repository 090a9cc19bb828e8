/** The words of the curves, in English. */

export const chartWords = {
  current: 'Current',
  wanted: (amps: string) => `wanted ${amps}`,
  voltage: 'Voltage',
  thickness: 'Thickness',
  charge: 'Charge',
  resistance: 'Resistance of the cell',
  plan: 'The broad pale line is the plan.',
  zoom: 'Stretch of time shown',
  whole: 'All of it',
  lastHour: 'Last hour',
  lastMinutes: 'Last 10 min',
  drag: 'Draw over a stretch to see it larger.',
  empty: 'The curves begin with the first reading.',
  table: 'Show as a table',
  time: 'Time',
  summary: (current: string, voltage: string, thickness: string) =>
    `Current ${current}; voltage ${voltage}; thickness grown to ${thickness}.`,
  between: (low: string, high: string) => `between ${low} and ${high}`,
  keys: 'Arrow keys move the reading line.',
} as const;
