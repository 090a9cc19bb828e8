/** A bench supply spoken to by the rules of a dialect: the `Rectifier` of the contract. */

import {
  RectifierError,
  type ConnectionReport,
  type DriverClock,
  type OffReport,
  type OffScript,
  type ProgrammedSetPoints,
  type Rectifier,
  type RectifierCapabilities,
  type RectifierRange,
  type RectifierReading,
  type SetPoints,
} from '../contract.ts';
import type { Link } from '../link/link.ts';
import { greet, rangeOf, survey } from './connection.ts';
import type { Dialect } from './dialect-schema.ts';
import { Exchange } from './exchange.ts';
import { NoIdentityError, type MeantSupply } from './identity.ts';
import { Lane, type Ticket } from './lane.ts';
import { confirmOff, identityOf, offBytes, OffLooks, offScriptOf, unconfirmed } from './off.ts';
import { againIfRefused, planSetPoints, programSupply, type HardLimits } from './program.ts';
import { ensureClean, readSupply } from './read.ts';
import type { Session } from './session.ts';
import { tellsRegulation, tellsTrips } from './status.ts';
import { switchOn } from './on.ts';
import { resetTrips } from './trips.ts';

export interface ScpiRectifierOptions extends MeantSupply {
  readonly dialect: Dialect;
  readonly link: Link;
  readonly clock: DriverClock;
  /** Bits a second of a serial line; null for any other. */
  readonly baudRate: number | null;
  /** Where another process finds the supply; null when only this one can. */
  readonly path: string | null;
  readonly hardLimits: HardLimits;
  readonly simulated: boolean;
}

function capabilitiesOf(dialect: Dialect): RectifierCapabilities {
  const { ops, session } = dialect;
  return {
    setPointReadback: ops.getVolts !== undefined && ops.getAmps !== undefined,
    outputReadback: ops.output !== undefined,
    overVoltageLevel: ops.setOverVoltage !== undefined,
    overCurrentLevel: ops.setOverCurrent !== undefined,
    overVoltageReadsOn: ops.overVoltageEnabled !== undefined,
    overCurrentReadsOn: ops.overCurrentEnabled !== undefined,
    regulation: tellsRegulation(dialect),
    supplyTrips: tellsTrips(dialect),
    errorQueue: session.errors !== undefined,
    powerOnFlag: session.powerOn !== undefined,
    beep: ops.beep !== undefined,
    offAmps: dialect.limits.offAmps,
    minimumCycleMs: session.minimumCycleMs,
  };
}

class ScpiRectifier implements Rectifier {
  readonly simulated: boolean;
  readonly capabilities: RectifierCapabilities;
  readonly health = { timeouts: 0, garbled: 0, resyncs: 0 };
  readonly #link: Link;
  readonly #dialect: Dialect;
  readonly #options: ScpiRectifierOptions;
  readonly #lane = new Lane();
  readonly #session: Session;
  #opening: Promise<void> | null = null;
  /** The supply at the other end is known to be the right one. */
  #greeted = false;
  /** `connect` has come to its end. */
  #connected = false;
  #switchingOff: Promise<OffReport> | null = null;
  /** What the last look at an OFF found that is not confirmed yet, A. */
  #lookedAmps: number | null = null;

  constructor(options: ScpiRectifierOptions) {
    const { dialect, link, clock, baudRate } = options;
    this.#options = options;
    this.#dialect = dialect;
    this.#link = link;
    this.simulated = options.simulated;
    this.capabilities = capabilitiesOf(dialect);
    this.#session = {
      exchange: new Exchange({ link, dialect, clock, baudRate, health: this.health }),
      dialect,
      nonce: null,
      identity: null,
      range: rangeOf(dialect),
      setVolts: null,
      setAmps: null,
      tripsWhileOff: null,
      cyclesToSetPoints: 0,
      restarted: false,
      failedResyncs: 0,
    };
  }

  get description(): string {
    const { identity } = this.#session;
    const who = identity === null ? '' : ` (${identity.text})`;
    return `${this.#dialect.name} on ${this.#link.name}${who}`;
  }

  get offScript(): OffScript {
    const { path, baudRate } = this.#options;
    const script = offScriptOf(this.#dialect, path, baudRate);
    const { identity } = this.#session;
    if (identity === null) return script;
    return { ...script, identity: identityOf(this.#dialect, identity.text, baudRate) };
  }

  get range(): RectifierRange {
    return this.#session.range;
  }

  get isConnected(): boolean {
    return this.#connected && this.#link.isOpen;
  }

  connect(): Promise<ConnectionReport> {
    return this.#lane.run(async (ticket) => {
      try {
        await this.#open(ticket);
        const report = await survey(this.#session, ticket);
        this.#connected = true;
        return report;
      } catch (error) {
        // After an OFF has overtaken, the link is no longer this call's to close.
        ticket.check();
        await this.#link.close();
        throw error;
      }
    });
  }

  read({ whole = false }: { readonly whole?: boolean } = {}): Promise<RectifierReading> {
    return this.#run((ticket) => {
      if (whole) this.#session.cyclesToSetPoints = 0;
      return readSupply(this.#session, ticket);
    });
  }

  async program(setPoints: SetPoints): Promise<ProgrammedSetPoints> {
    const plan = () =>
      planSetPoints(setPoints, this.range, this.#options.hardLimits, this.#dialect);
    plan();
    // Planned again in its turn: a connection in between may have taught another range.
    return this.#run((ticket) =>
      againIfRefused(this.#session, ticket, async () => {
        if (setPoints.resetTrips === true) await resetTrips(this.#session, ticket);
        return programSupply(this.#session, ticket, plan());
      }),
    );
  }

  on(): Promise<{ readonly sentAtMs: number }> {
    return this.#run((ticket) => switchOn(this.#session, ticket, this.#options.hardLimits));
  }

  beep(): Promise<void> {
    const { beep } = this.#dialect.ops;
    if (beep === undefined) {
      return Promise.reject(new RectifierError('unsupported', 'This supply cannot beep.'));
    }
    return this.#run(async (ticket) => {
      await ensureClean(this.#session, ticket, false);
      await this.#session.exchange.command(ticket, beep.send);
    });
  }

  off(): Promise<OffReport> {
    this.#switchingOff ??= this.#lookedAtOff().finally(() => {
      this.#switchingOff = null;
    });
    return this.#switchingOff;
  }

  /** What its looks have found is told whatever becomes of it. */
  async #lookedAtOff(): Promise<OffReport> {
    const looks = new OffLooks(this.#lookedAmps);
    const report = await this.#lane
      .overtake((ticket) => this.#switchOff(ticket, looks))
      .catch(unconfirmed);
    this.#lookedAmps = report.confirmed ? null : looks.lastAmps;
    return { ...report, highestAmps: looks.highestAmps };
  }

  close(): Promise<void> {
    return this.#lane.run(async (ticket) => {
      try {
        if (this.isConnected && !this.#session.exchange.dirty) {
          for (const line of this.#dialect.session.leave) {
            await this.#session.exchange.command(ticket, line);
          }
        }
      } catch {
        ticket.check();
      }
      this.#connected = false;
      this.#greeted = false;
      await this.#link.close();
    });
  }

  /** Opens a new connection and makes it usable. */
  async #open(ticket: Ticket): Promise<void> {
    this.#connected = false;
    this.#greeted = false;
    this.#opening = this.#link.open();
    try {
      await this.#opening;
    } finally {
      this.#opening = null;
    }
    ticket.check();
    await this.#greet(ticket);
  }

  #run<T>(task: (ticket: Ticket) => Promise<T>): Promise<T> {
    return this.#lane.run(async (ticket) => {
      if (!this.#connected) {
        throw new RectifierError('notOpen', `${this.#link.name} is not connected.`);
      }
      return task(ticket);
    });
  }

  /**
   * Over a line on which the supply is known OFF goes first: all up to its write happens before `off`
   * returns. Whoever stands at a line that was opened since is asked who he is before anything else.
   */
  async #switchOff(ticket: Ticket, looks: OffLooks): Promise<OffReport> {
    const { exchange } = this.#session;
    exchange.dirty = true;
    this.#link.interrupt();
    if (this.#link.isOpen && this.#greeted) {
      const hurried = exchange.gapLeftMs > 0;
      const sent = await exchange.sendAtOnce(offBytes(this.#dialect)).then(
        () => true,
        () => false,
      );
      if (sent) {
        const report = await confirmOff(this.#session, ticket, hurried, looks);
        if (report.confirmed || this.#link.isOpen) return report;
      }
    }
    return this.#switchOffAnew(ticket, looks);
  }

  /**
   * OFF over a line on which nobody is known yet. Under this path may stand another device by now,
   * whose work OFF would end: who answers as somebody else, and does so twice, is sent nothing. Who
   * answers nothing, or nothing that can be understood, is sent OFF all the same: our own supply may
   * be deaf in one direction, and another one would have answered. The sentinel goes by the same rule.
   */
  async #switchOffAnew(ticket: Ticket, looks: OffLooks): Promise<OffReport> {
    // A connection that is just being opened is as good as a new one.
    await this.#opening?.catch(() => undefined);
    if (!this.#link.isOpen) {
      this.#connected = false;
      this.#greeted = false;
      await this.#link.open();
    }
    let sent = false;
    const send = async (): Promise<void> => {
      await this.#session.exchange.sendAtOnce(offBytes(this.#dialect));
      ticket.check();
      sent = true;
    };
    try {
      await this.#greet(ticket, send);
    } catch (error) {
      ticket.check();
      const isOther =
        error instanceof RectifierError &&
        error.kind === 'wrongDevice' &&
        !(error instanceof NoIdentityError);
      if (!isOther && !sent && this.#link.isOpen) {
        await send()
          .then(() => this.#link.drain())
          .catch(() => undefined);
      }
      await this.#link.close();
      return unconfirmed(error);
    }
    // Before it was put into remote mode it may not have heard the first one.
    return confirmOff(this.#session, ticket, true, looks);
  }

  async #greet(ticket: Ticket, met?: () => Promise<void>): Promise<void> {
    await greet(this.#session, ticket, this.#options, met);
    this.#greeted = true;
  }
}

/** A rectifier that speaks a dialect over a link. Nothing is opened yet. */
export function createScpiRectifier(options: ScpiRectifierOptions): Rectifier {
  return new ScpiRectifier(options);
}
