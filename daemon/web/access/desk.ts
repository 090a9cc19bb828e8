/** The desk at the entrance: tells who is asking, signs people in and out, and keeps count of failures. */

import { parse } from 'hono/utils/cookie';
import type { Logger } from 'pino';
import type { Standing } from '../../wire/session.ts';
import type { Role } from '../../wire/roles.ts';
import type { AccessList } from '../guard.ts';
import { ProblemError } from '../problem.ts';
import { AttemptLimits, attemptRules, Turns } from './attempts.ts';
import type { AttemptRules } from './attempts.ts';
import { isForwarded, isLoopback, plainAddress, signature } from './caller.ts';
import type { Caller, HeaderOf } from './caller.ts';
import { AccessNotices } from './notices.ts';
import { PassphraseWatch } from './passphrase-watch.ts';
import { SessionBook } from './sessions.ts';
import type { Session } from './sessions.ts';

export interface AccessDeps {
  /** Null where nobody can sign in. */
  readonly passphraseFile: string | null;
  /** Null keeps sessions in memory only. */
  readonly sessionFile: string | null;
  readonly signInHere: boolean;
  /** Over https the cookie has a name that no other host can set. */
  readonly secure: boolean;
  readonly list: AccessList;
  /** Wall time, ms since the epoch. */
  readonly nowMs: () => number;
  readonly log: Logger;
  /** For the events of the runs under way. */
  readonly tell: (sentence: string) => void;
  readonly attemptRules?: AttemptRules;
}

/** The one answer to every sign-in that fails, whatever was wrong with it. */
export function notRight(): ProblemError {
  return new ProblemError('unauthorized', 'That passphrase is not right.');
}

export class AccessDesk {
  readonly sessions: SessionBook;
  readonly cookieName: string;
  readonly #deps: AccessDeps;
  readonly #watch: PassphraseWatch;
  readonly #limits: AttemptLimits;
  readonly #notices: AccessNotices;
  readonly #turns: Turns;
  /** Those at the bench never stand in line behind the network. */
  readonly #turnsHere: Turns;

  constructor(deps: AccessDeps) {
    this.#deps = deps;
    const warn = (error: unknown, sentence: string): void =>
      deps.log.warn({ err: error }, sentence);
    this.#watch = new PassphraseWatch(deps.passphraseFile, warn);
    this.sessions = new SessionBook({
      file: deps.sessionFile,
      nowMs: deps.nowMs,
      markOf: (role) => this.#watch.markOf(role),
      warn,
    });
    const rules = deps.attemptRules ?? attemptRules;
    this.#limits = new AttemptLimits(rules, () => performance.now());
    this.#notices = new AccessNotices(deps.tell, () => performance.now());
    this.#turns = new Turns(rules.mostWaiting);
    this.#turnsHere = new Turns(rules.mostWaiting);
    this.cookieName = deps.secure ? '__Host-nightbath' : 'nightbath';
  }

  /** Who sends a request with these headers over a connection from this address. */
  callerOf(header: HeaderOf, remoteAddress: string | undefined): Caller {
    const address = plainAddress(remoteAddress);
    const here =
      isLoopback(address) &&
      this.#deps.list.namesThisMachine(header('host')) &&
      !isForwarded(header);
    const token = this.tokenOf(header('cookie'));
    const session = token === null ? null : this.sessions.find(token);
    return { role: this.#roleOf(here, session), address, here, session };
  }

  #roleOf(here: boolean, session: Session | null): Role | null {
    return here && !this.#deps.signInHere ? 'control' : (session?.role ?? null);
  }

  /** The same caller after a session of theirs has begun or ended. */
  with(caller: Caller, session: Session | null): Caller {
    return { ...caller, session, role: this.#roleOf(caller.here, session) };
  }

  /** The token of a Cookie header; two of one name can be read in two ways, so they count as none. */
  tokenOf(cookies: string | undefined): string | null {
    if (cookies === undefined) return null;
    const given = cookies
      .split(';')
      .filter((pair) => pair.trim().startsWith(`${this.cookieName}=`));
    if (given.length !== 1) return null;
    return parse(given[0] ?? '', this.cookieName)[this.cookieName] ?? null;
  }

  standing({ role, here, session }: Caller): Standing {
    return {
      role,
      name: session?.name ?? '',
      here,
      signedIn: session !== null,
      endsWallMs: session === null ? null : this.sessions.endsWallMs(session),
    };
  }

  /**
   * Opens a session and gives its token. Throws one and the same problem for every passphrase that
   * opens nothing, and another one, before any is looked at, for too many tries.
   */
  async signIn(caller: Caller, passphrase: string, name: string) {
    const { address, here } = caller;
    const trusted = this.#hasControl(address);
    // Nobody can lock out the bench itself: it has no limit, and a queue of its own.
    const waitMs = here ? 0 : this.#limits.take(address, trusted);
    if (waitMs > 0) {
      this.#deps.log.warn({ address }, 'A sign-in was refused: too many tries.');
      this.#notices.refused(address);
      throw tooMany(waitMs);
    }
    const turns = here ? this.#turnsHere : this.#turns;
    const turn = turns.take(() => this.#watch.roleOf(passphrase));
    if (turn === null) throw tooMany(2_000);
    const role = await turn;
    if (role === null) {
      this.#deps.log.warn({ address, name }, 'A sign-in was refused: the passphrase is not right.');
      this.#notices.refused(address);
      throw notRight();
    }
    if (!here) this.#limits.giveBack(address, trusted);
    // Whoever had a session in this browser has this one now; an old token opens nothing more.
    if (caller.session !== null) this.sessions.close(caller.session.id);
    const opened = this.sessions.open(role, name, address);
    const who = signature({ ...caller, session: opened.session });
    this.#deps.log.info({ address, name, role }, `Signed in: ${who}.`);
    this.#notices.came(who);
    return opened;
  }

  /** Somebody there who has control already gains nothing by guessing; a lower role would. */
  #hasControl(address: string): boolean {
    const controls = this.sessions.all().filter(({ role }) => role === 'control');
    return controls.some((session) => session.address === address);
  }

  signOut(caller: Caller): void {
    if (caller.session === null) return;
    this.sessions.close(caller.session.id);
    this.#deps.log.info({ address: caller.address }, `Signed out: ${signature(caller)}.`);
    this.#notices.went(signature(caller));
  }

  signOutAll(caller: Caller): void {
    this.sessions.closeAll();
    this.#deps.log.info({ address: caller.address }, `All signed out by ${signature(caller)}.`);
    this.#notices.went(`everybody, by ${signature(caller)}`);
  }
}

function tooMany(waitMs: number): ProblemError {
  const seconds = Math.ceil(waitMs / 1000);
  const unit = seconds === 1 ? 'second' : 'seconds';
  const detail = `Too many tries. Wait ${seconds} ${unit}. To switch off now, use the supply's own switch.`;
  return new ProblemError('tooMany', detail, [], { 'retry-after': String(seconds) });
}
