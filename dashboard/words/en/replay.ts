/** The words of the replay, in English. */

export const replayWords = {
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
  marks: 'Events of the run',
  mark: (at: string, message: string, more: number) =>
    `${at} ${message}${more === 0 ? '' : ` And ${more} more close to it.`}`,
  keys: 'Arrow keys move the position, with Shift from event to event; Space plays and pauses.',
  last: (at: string, message: string) => `${at} ${message}`,
  beforeAll: 'Nothing has happened yet.',
  badMoment: (text: string) =>
    `The address says at=${text}; it must be a whole number of seconds since the start.`,
  report: 'Report to print',
  eventsCsv: 'Events as CSV',
} as const;
