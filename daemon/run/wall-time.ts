/**
 * Local time as clocks on the wall show it: to an instant and back, with the nights on which the
 * clocks change. No clock is read here; the rules of the zones come with the runtime.
 */

const secondMs = 1000;
const minuteMs = 60 * secondMs;
const dayMs = 24 * 60 * minuteMs;

/** A minute on a wall clock of one zone. */
export interface LocalTime {
  readonly year: number;
  /** 1 to 12. */
  readonly month: number;
  readonly day: number;
  readonly hour: number;
  readonly minute: number;
}

/**
 * Instants that a local time names, ms since the epoch. `twice`: the clocks are set back over it,
 * and both are given, the earlier first. `skipped`: they are set forward over it; `wallMs` is the
 * instant at which they jump.
 */
export type LocalMoment =
  | { readonly kind: 'once'; readonly wallMs: number }
  | { readonly kind: 'twice'; readonly wallMs: number; readonly laterWallMs: number }
  | { readonly kind: 'skipped'; readonly wallMs: number };

// Making a formatter takes far longer than using it.
const formatters = new Map<string, Intl.DateTimeFormat>();

function formatter(timeZone: string): Intl.DateTimeFormat {
  const known = formatters.get(timeZone);
  if (known !== undefined) return known;
  const made = new Intl.DateTimeFormat('en-GB-u-ca-gregory-nu-latn', {
    timeZone,
    hourCycle: 'h23',
    year: 'numeric',
    month: 'numeric',
    day: 'numeric',
    hour: 'numeric',
    minute: 'numeric',
    second: 'numeric',
  });
  formatters.set(timeZone, made);
  return made;
}

/** Whether this machine knows a time zone of that name, such as Europe/Berlin. */
export function isTimeZone(name: string): boolean {
  try {
    formatter(name);
    return true;
  } catch {
    return false;
  }
}

/** Days from 1 January 1970 to a day of the Gregorian calendar. */
function dayNumber(year: number, month: number, day: number): number {
  // Years are counted from March here, so that the leap day is their last.
  const shifted = month <= 2 ? year - 1 : year;
  const monthFromMarch = (month + 9) % 12;
  const dayOfYear = Math.floor((153 * monthFromMarch + 2) / 5) + day - 1;
  const leapDays = Math.floor(shifted / 4) - Math.floor(shifted / 100) + Math.floor(shifted / 400);
  return 365 * shifted + leapDays + dayOfYear - 719_468;
}

/** The local time as if its zone were UTC, ms. */
function asIfUtcMs({ year, month, day, hour, minute }: LocalTime): number {
  return dayNumber(year, month, day) * dayMs + (hour * 60 + minute) * minuteMs;
}

/** What clocks in a zone show at an instant, and how many seconds past the minute. */
export function localTimeAt(
  wallMs: number,
  timeZone: string,
): LocalTime & { readonly second: number } {
  const numbers: Partial<Record<Intl.DateTimeFormatPartTypes, number>> = {};
  for (const { type, value } of formatter(timeZone).formatToParts(wallMs)) {
    numbers[type] = Number(value);
  }
  const { year = 0, month = 0, day = 0, hour = 0, minute = 0, second = 0 } = numbers;
  return { year, month, day, hour, minute, second };
}

/** How far the clocks of a zone are ahead of UTC at an instant, ms. */
export function offsetMs(wallMs: number, timeZone: string): number {
  const local = localTimeAt(wallMs, timeZone);
  const wholeSecondMs = Math.floor(wallMs / secondMs) * secondMs;
  return asIfUtcMs(local) + local.second * secondMs - wholeSecondMs;
}

/** The instant between two at which a zone's clocks change. */
function changeMs(timeZone: string, fromMs: number, untilMs: number): number {
  const before = offsetMs(fromMs, timeZone);
  let low = fromMs;
  let high = untilMs;
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (offsetMs(middle, timeZone) === before) low = middle;
    else high = middle;
  }
  return high;
}

/** The instant, or instants, at which clocks in a zone show a local time. */
export function momentOfLocal(local: LocalTime, timeZone: string): LocalMoment {
  const asIfMs = asIfUtcMs(local);
  const before = offsetMs(asIfMs - dayMs, timeZone);
  const after = offsetMs(asIfMs + dayMs, timeZone);
  const candidates = [...new Set([asIfMs - before, asIfMs - after])]
    .filter((wallMs) => wallMs + offsetMs(wallMs, timeZone) === asIfMs)
    .toSorted((first, second) => first - second);
  const [wallMs, laterWallMs] = candidates;
  if (wallMs === undefined) {
    return { kind: 'skipped', wallMs: changeMs(timeZone, asIfMs - dayMs, asIfMs + dayMs) };
  }
  return laterWallMs === undefined
    ? { kind: 'once', wallMs }
    : { kind: 'twice', wallMs, laterWallMs };
}

const weekdays = ['Thursday', 'Friday', 'Saturday', 'Sunday', 'Monday', 'Tuesday', 'Wednesday'];
const months = [
  'January',
  'February',
  'March',
  'April',
  'May',
  'June',
  'July',
  'August',
  'September',
  'October',
  'November',
  'December',
];

const two = (value: number): string => String(value).padStart(2, '0');

/** `07:00`. */
export function clockText({ hour, minute }: LocalTime): string {
  return `${two(hour)}:${two(minute)}`;
}

// Beyond this many ms from 1970 there are no more dates.
const lastMs = 8.64e15;

/** `07:00 on Thursday 26 November`, to the minute below. */
export function localText(wallMs: number, timeZone: string): string {
  if (!(Math.abs(wallMs) <= lastMs)) return 'no day of any calendar';
  const local = localTimeAt(wallMs, timeZone);
  // 1 January 1970 was a Thursday, the first of the list.
  const weekday = weekdays[dayNumber(local.year, local.month, local.day) % 7];
  return `${clockText(local)} on ${weekday} ${local.day} ${months[local.month - 1]}`;
}

function nextDay(local: LocalTime): LocalTime {
  const next = localTimeAt(asIfUtcMs(local) + dayMs, 'UTC');
  return { ...local, year: next.year, month: next.month, day: next.day };
}

/** A local time as a maker types it: `07:00`, or with its day, `2026-11-26 07:00`. */
export type TypedTime =
  | { readonly ok: true; readonly local: LocalTime; readonly moment: LocalMoment }
  | { readonly ok: false; readonly bound: string };

const timePattern = /^(?:(\d{4})-(\d{2})-(\d{2})[T ])?(\d{1,2}):(\d{2})$/;
const wanted = 'a time such as 07:00, or with its day, 2026-11-26 07:00';

/**
 * The moment that a typed local time means: without a day, the next one after now. Where the clocks
 * show it twice, the first that is still ahead.
 */
export function readLocalTime(text: string, nowWallMs: number, timeZone: string): TypedTime {
  const found = timePattern.exec(text.trim());
  if (found === null) return { ok: false, bound: wanted };
  const [, year, month, day, hour, minute] = found;
  const today = localTimeAt(nowWallMs, timeZone);
  const local: LocalTime = {
    year: year === undefined ? today.year : Number(year),
    month: month === undefined ? today.month : Number(month),
    day: day === undefined ? today.day : Number(day),
    hour: Number(hour),
    minute: Number(minute),
  };
  const echo = localTimeAt(asIfUtcMs(local), 'UTC');
  const real = (Object.keys(local) as (keyof LocalTime)[]).every((key) => echo[key] === local[key]);
  if (!real) return { ok: false, bound: 'a day and a time that exist' };
  const here = ahead(momentOfLocal(local, timeZone), nowWallMs);
  if (here !== null) return { ok: true, local, moment: here };
  if (year !== undefined) return { ok: false, bound: 'later than now' };
  const tomorrow = nextDay(local);
  return { ok: true, local: tomorrow, moment: momentOfLocal(tomorrow, timeZone) };
}

/** What of a moment is still to come, or null. */
function ahead(moment: LocalMoment, nowWallMs: number): LocalMoment | null {
  if (moment.wallMs > nowWallMs) return moment;
  return moment.kind === 'twice' && moment.laterWallMs > nowWallMs
    ? { kind: 'once', wallMs: moment.laterWallMs }
    : null;
}

const mostNights = 60;

/**
 * Hours of a stretch of time that fall between two hours of the local night, such as 22 and 7; null
 * for a stretch of more than 60 days, which is no run.
 */
export function nightHours(
  fromWallMs: number,
  untilWallMs: number,
  timeZone: string,
  fromHour: number,
  untilHour: number,
): number | null {
  if (!(untilWallMs - fromWallMs <= mostNights * dayMs)) return null;
  const start = localTimeAt(fromWallMs, timeZone);
  let evening: LocalTime = { ...start, hour: fromHour, minute: 0 };
  // The night before the first evening may still be going on when the stretch begins.
  const before = localTimeAt(asIfUtcMs(evening) - dayMs, 'UTC');
  evening = { ...evening, year: before.year, month: before.month, day: before.day };
  let sumMs = 0;
  for (;;) {
    const nightMs = momentOfLocal(evening, timeZone).wallMs;
    if (nightMs >= untilWallMs) return sumMs / (60 * minuteMs);
    const morning = momentOfLocal({ ...nextDay(evening), hour: untilHour }, timeZone).wallMs;
    sumMs += Math.max(0, Math.min(morning, untilWallMs) - Math.max(nightMs, fromWallMs));
    evening = nextDay(evening);
  }
}
