/** Sees each message through on each channel: tries, tries again, repeats, puts many into one, and keeps book. */

import type { DeliveryMark, OpenDelivery, OutboxStore, Posting } from '../store/door.ts';
import type { AlertMessage } from '../wire/alerts.ts';
import { afterSending, quietTraffic, sortingOf, type Traffic } from './digest.ts';
import { digestOf, letterOf, type Letter } from './letter.ts';
import {
  freshCourse,
  givenUpAfterMs,
  onDelivered,
  onFailed,
  onSettled,
  reminderLastsMs,
  type Course,
} from './schedule.ts';

/** A way out, as far as its messages are concerned. */
export interface Outlet {
  readonly name: string;
  /** Changes with the address, so that a test of an old one does not count for a new one. */
  readonly print: string;
  readonly leastPriority: AlertMessage['priority'];
}

/** What became of one try: null where the channel took it, else why not, fit to be shown. */
export type Send = (channel: string, letter: Letter) => Promise<string | null>;

export interface MessengerParts {
  readonly outlets: readonly Outlet[];
  readonly send: Send;
  readonly outbox: Pick<OutboxStore, 'mark'>;
  readonly clock: { nowMs(): number; wallMs(): number };
  /** 0 to 1, to spread late tries. */
  readonly chance: () => number;
}

/** A test: to one channel, with somebody who waits for what becomes of it. */
export interface Trial {
  readonly channel: string;
  /** Null where the channel took it, else why not. */
  readonly onTried: (reason: string | null) => void;
}

interface Item {
  readonly message: AlertMessage;
  alarmId: number | null;
  readonly outlet: Outlet;
  course: Course;
  triedWallMs: number | null;
  deliveredWallMs: number | null;
  lastError: string | null;
  underWay: boolean;
  readonly onTried: Trial['onTried'];
  /** The disk has its row. Until then its marks are held, and put down when it does. */
  onDisk: boolean;
}

interface OutletWork {
  traffic: Traffic;
  /** Ordinary messages go one after the other. */
  busy: boolean;
}

const priorities = ['note', 'act-soon', 'stopped'] as const;
/** More unsettled ones than this are not held; the ordinary ones that came first are let go. */
const mostItems = 2_000;

/** What waits is tried for this long at least after a restart: it may be stamped by a clock not yet set. */
const leastLeftMs = 6 * 3_600_000;

/** Grave ones, and those that somebody waits for, wait behind nothing and are never put together. */
function goesAtOnce({ priority, kind }: AlertMessage): boolean {
  return priority === 'stopped' || kind === 'test' || kind === 'sentinel';
}

export class Messenger {
  readonly #parts: MessengerParts;
  readonly #work = new Map<string, OutletWork>();
  readonly #under = new Set<Promise<void>>();
  #items: Item[] = [];

  constructor(parts: MessengerParts) {
    this.#parts = parts;
    for (const { name } of parts.outlets)
      this.#work.set(name, { traffic: quietTraffic, busy: false });
  }

  /** Unsettled deliveries on a channel. */
  waitingOn(channel: string): number {
    return this.#items.filter(({ outlet }) => outlet.name === channel).length;
  }

  /**
   * Says it from now on, on disk or not; a test goes to its one channel. The answer is what
   * the disk is to be given together with the message's event.
   */
  post(message: AlertMessage, alarmId: number | null, trial?: Trial): Posting {
    const outlets = this.#parts.outlets.filter(({ name, leastPriority }) =>
      trial === undefined ? reaches(message, leastPriority) : name === trial.channel,
    );
    for (const outlet of outlets) {
      const course = freshCourse(this.#parts.clock.nowMs(), courseOf(message));
      const onTried = trial?.onTried ?? (() => undefined);
      this.#add({ ...untried, message, alarmId, outlet, course, onTried });
    }
    this.pump();
    return { message, channels: outlets.map(({ name, print }) => ({ name, print })) };
  }

  /** The message is on disk now, with its alarm: what became of it meanwhile is put down. */
  stored(messageId: string, alarmId: number | null): void {
    for (const item of this.#items) {
      if (item.message.id !== messageId) continue;
      item.alarmId = alarmId;
      item.onDisk = true;
      // Nothing was tried or settled: the row says that already.
      if (item.course.tries > 0 || item.course.dueMs === null) this.#mark(item);
    }
    this.#sweep();
  }

  /** Somebody acknowledged: nothing more is said of it. */
  acknowledged(alarmId: number): void {
    this.#settleAll((item) => item.alarmId === alarmId);
  }

  /** No turn is due on this tank any more: a reminder that was not delivered yet would mislead. */
  noTurnDue(tankId: string): void {
    this.#settleAll(({ message }) => message.kind === 'turn' && message.tankId === tankId);
  }

  #settleAll(which: (item: Item) => boolean): void {
    for (const item of this.#items) {
      if (item.course.dueMs === null || !which(item)) continue;
      item.course = onSettled(item.course);
      if (item.onDisk) this.#mark(item);
    }
    this.#sweep();
  }

  /**
   * What the last process left. What is for a channel that these settings do not have is left to a
   * process that has it, for as long as it would be tried; a bench without any channel judges nothing.
   */
  restore(open: readonly OpenDelivery[]): void {
    if (this.#parts.outlets.length === 0) return;
    for (const delivery of open) {
      const outlet = this.#parts.outlets.find(({ name }) => name === delivery.channel);
      // The run that it was about ended with the last process.
      if (delivery.message.kind === 'turn') this.#close(delivery, 'The run has ended.');
      else if (outlet !== undefined) this.#add(this.#restored(delivery, outlet));
      else this.#closeIfOld(delivery);
    }
    this.pump();
  }

  #closeIfOld(delivery: OpenDelivery): void {
    if (this.#parts.clock.wallMs() - delivery.message.createdWallMs <= givenUpAfterMs) return;
    this.#close(delivery, 'The channel is not in the settings any more.');
  }

  #close(delivery: OpenDelivery, lastError: string): void {
    const { message, channel, alarmId: _, ...mark } = delivery;
    const state = mark.deliveries > 0 ? 'delivered' : 'withdrawn';
    const closed = { ...mark, state, dueWallMs: null, lastError } as const;
    void this.#parts.outbox.mark(message.id, channel, closed).catch(() => undefined);
  }

  /** Starts what is due. Called after every change and a few times a second. */
  pump(): void {
    const nowMs = this.#parts.clock.nowMs();
    for (const outlet of this.#parts.outlets) {
      const due = this.#items.filter(
        ({ outlet: { name }, course, underWay }) =>
          name === outlet.name && !underWay && course.dueMs !== null && course.dueMs <= nowMs,
      );
      for (const item of due) if (goesAtOnce(item.message)) this.#start([item]);
      this.#startOrdinary(
        outlet.name,
        due.filter(({ message }) => !goesAtOnce(message)),
        nowMs,
      );
    }
  }

  /** Resolves once no try is under way, or after this time. */
  async flushed(withinMs: number): Promise<void> {
    const end = new Promise<void>((resolve) => setTimeout(resolve, withinMs).unref());
    await Promise.race([Promise.allSettled(this.#under), end]);
  }

  #startOrdinary(channel: string, due: readonly Item[], nowMs: number): void {
    const work = this.#work.get(channel);
    const [first] = due;
    if (work === undefined || work.busy || first === undefined) return;
    const sorting = sortingOf(due.length, work.traffic, nowMs);
    if (sorting === 'later') return;
    work.busy = true;
    this.#start(sorting === 'together' ? due : [first], (taken) => {
      work.busy = false;
      if (taken) work.traffic = afterSending(work.traffic, sorting, this.#parts.clock.nowMs());
    });
  }

  #start(items: readonly Item[], after: (taken: boolean) => void = () => undefined): void {
    const [first] = items;
    if (first === undefined) return;
    for (const item of items) item.underWay = true;
    const wallMs = this.#parts.clock.wallMs();
    const letter =
      items.length === 1
        ? letterOf(first.message, first.course.deliveries, wallMs)
        : digestOf(
            items.map(({ message }) => message),
            wallMs,
          );
    const attempt = this.#parts
      .send(first.outlet.name, letter)
      .catch((error: unknown) => (error instanceof Error ? error.message : String(error)))
      .then((reason) => {
        for (const item of items) this.#settle(item, reason);
        after(reason === null);
        this.#sweep();
        this.#under.delete(attempt);
        this.pump();
      });
    this.#under.add(attempt);
  }

  #settle(item: Item, reason: string | null): void {
    const nowMs = this.#parts.clock.nowMs();
    const wallMs = Math.round(this.#parts.clock.wallMs());
    item.underWay = false;
    item.triedWallMs = wallMs;
    item.lastError = reason;
    if (reason === null) item.deliveredWallMs = wallMs;
    item.course =
      reason === null
        ? onDelivered(item.course, nowMs)
        : onFailed(item.course, nowMs, this.#parts.chance());
    if (item.onDisk) this.#mark(item);
    item.onTried(reason);
  }

  #mark(item: Item): void {
    const { course } = item;
    const { clock, outbox } = this.#parts;
    const mark: DeliveryMark = {
      state: course.state,
      tries: course.tries,
      failures: course.failures,
      deliveries: course.deliveries,
      dueWallMs:
        course.dueMs === null ? null : Math.round(clock.wallMs() + course.dueMs - clock.nowMs()),
      triedWallMs: item.triedWallMs,
      deliveredWallMs: item.deliveredWallMs,
      lastError: item.lastError,
    };
    // A mark that is lost has the message sent once more after a restart, under the same id.
    void outbox.mark(item.message.id, item.outlet.name, mark).catch(() => undefined);
  }

  #restored(delivery: OpenDelivery, outlet: Outlet): Item {
    const { message, alarmId, triedWallMs, deliveredWallMs, lastError, dueWallMs } = delivery;
    const { clock } = this.#parts;
    const [nowMs, wallMs] = [clock.nowMs(), clock.wallMs()];
    // Whatever the wall clock did meanwhile: not from the future, and due within a quarter of an hour.
    const mostAgedMs =
      delivery.state === 'waiting' ? givenUpAfterMs - leastLeftMs : 4 * givenUpAfterMs;
    const agedMs = Math.min(Math.max(0, wallMs - message.createdWallMs), mostAgedMs);
    const waitMs = Math.min(Math.max(0, (dueWallMs ?? wallMs) - wallMs), 15 * 60_000);
    const { state, tries, failures, deliveries } = delivery;
    const createdMs = nowMs - agedMs;
    const fresh = freshCourse(createdMs, courseOf(message));
    const course = { ...fresh, state, tries, failures, deliveries, dueMs: nowMs + waitMs };
    return {
      message,
      alarmId,
      outlet,
      course,
      triedWallMs,
      deliveredWallMs,
      lastError,
      underWay: false,
      onDisk: true,
      onTried: () => undefined,
    };
  }

  #add(item: Item): void {
    this.#items.push(item);
    if (this.#items.length <= mostItems) return;
    const spare = this.#items.findIndex(
      ({ message, underWay }) => !underWay && !goesAtOnce(message),
    );
    if (spare >= 0) this.#items.splice(spare, 1);
  }

  /** Lets go of what is settled and on disk. */
  #sweep(): void {
    this.#items = this.#items.filter(
      ({ course, onDisk, underWay }) => course.dueMs !== null || !onDisk || underWay,
    );
  }
}

const untried = {
  triedWallMs: null,
  deliveredWallMs: null,
  lastError: null,
  underWay: false,
  onDisk: false,
} as const;

/** How a message of its kind is seen through. */
function courseOf({ kind, priority }: AlertMessage): {
  repeats: boolean;
  once: boolean;
  lastsMs: number;
} {
  return {
    repeats: kind === 'alarm' && priority === 'stopped',
    once: kind === 'test',
    lastsMs: kind === 'turn' ? reminderLastsMs : givenUpAfterMs,
  };
}

function reaches(message: AlertMessage, least: AlertMessage['priority']): boolean {
  return priorities.indexOf(message.priority) >= priorities.indexOf(least);
}
