/** The frame of every page: navigation, staleness, alarms, the page itself, cautions, off switch. */

import { html, nothing, type TemplateResult } from 'lit';
import { access } from './access.ts';
import { AccessLine, limitsLine } from './access-line.ts';
import { AlarmBanner } from './alarm-banner.ts';
import { attention } from './alarm/attention.ts';
import { alarmWords } from '#words/alarm';
import { OffBar } from './off-bar.ts';
import { connection } from './connection.ts';
import { NightElement } from './element.ts';
import { keepFocus, pressOnce } from './focus-keeper.ts';
import { LiveElement } from './live-element.ts';
import { clockSeconds } from './format.ts';
import { fetchPage } from './page-code.ts';
import { addresses, followLinks, routeOf, type Route } from './route.ts';
import { applyLook, chosenLook, looks, type Look } from './theme.ts';
import { TurnLine } from './turn-line.ts';
import { accessWords } from '#words/access';
import { words } from '#words/common';
import { interruptedWords } from '#words/interrupted';

/** A page that connects sooner than this need not say that it is connecting. */
const patienceMs = 1500;

function pageFor(route: Route): TemplateResult {
  switch (route.page) {
    case 'bench':
      return html`<bench-page></bench-page>`;
    case 'plan':
      return html`<plan-page .tankId=${route.tankId} .continues=${route.continues}></plan-page>`;
    case 'run':
      return html`<run-page .tankId=${route.tankId}></run-page>`;
    case 'log':
      return html`<log-page></log-page>`;
    case 'alerts':
      return html`<alerts-page></alerts-page>`;
    case 'cautions':
      return html`<cautions-page></cautions-page>`;
    case 'night':
      return html`<night-page></night-page>`;
    case 'replay':
      return html`<replay-page .runId=${route.runId}></replay-page>`;
    case 'compare':
      return html`<compare-page .query=${route.query}></compare-page>`;
    case 'ledger':
      return html`<ledger-page .place=${route.place}></ledger-page>`;
    case 'weigh-in':
      return html`<weigh-in-page .runId=${route.runId}></weigh-in-page>`;
    case 'report':
      return html`<report-page .runId=${route.runId}></report-page>`;
    case 'setup':
      return html`<setup-page .section=${route.part}></setup-page>`;
    case 'unknown':
      return html`<h1 tabindex="-1">${words.notFound}</h1>
        <p class="way-on">
          <a class="press-link" href=${addresses.bench}>${words.toBench}</a>
        </p>`;
  }
}

export class NightShell extends LiveElement {
  static override properties = { route: { state: true }, failed: { state: true } };
  declare route: Route;
  declare failed: boolean;
  #moved = false;
  /** Whether a page has been there to be shown. */
  #arrived = false;

  constructor() {
    super();
    this.route = routeOf(location.href);
    this.failed = false;
  }

  #path = '';

  override connectedCallback(): void {
    super.connectedCallback();
    attention.start();
    this.addEventListener('click', followLinks);
    keepFocus(this);
    pressOnce(this);
    addEventListener('popstate', () => {
      // The browser itself goes to a place on the page, and takes the focus there.
      if (location.hash !== '' && location.pathname === this.#path) return;
      this.#moved = true;
      scrollTo(0, 0);
      this.#go();
    });
    this.#go();
  }

  #go(): void {
    this.#path = location.pathname;
    const route = routeOf(location.href);
    this.route = route;
    fetchPage(route).then(
      () => void this.#settle(),
      () => {
        this.#arrived = true;
        this.failed = true;
      },
    );
  }

  /** After a move the heading takes the focus, so that a screen reader says where it is. */
  async #settle(): Promise<void> {
    await this.updateComplete;
    const page = this.querySelector('main')?.firstElementChild;
    if (page instanceof NightElement) await page.updateComplete;
    this.#arrived = true;
    this.#reveal();
    if (this.#moved) this.querySelector('h1')?.focus();
  }

  /** The page is shown once it is there and the bench was heard, so that nothing on it jumps on the way. */
  #reveal(): void {
    const silentMs = Date.now() - connection.silentSinceWallMs;
    const hears = connection.bench !== null || access.ended || silentMs > patienceMs;
    this.toggleAttribute('data-waits', !(this.#arrived && hears));
  }

  override updated(): void {
    this.#reveal();
    const heading = this.querySelector('h1')?.textContent?.trim();
    const title = attention.titled(heading ? words.titled(heading) : words.product);
    if (document.title !== title) document.title = title;
  }

  #header(): TemplateResult {
    const link = (page: Route['page'], address: string, label: string): TemplateResult =>
      html`<a href=${address} aria-current=${this.route.page === page ? 'page' : 'false'}
        >${label}</a
      >`;
    return html`<header>
      <a class="skip" href="#page">${words.nav.skip}</a>
      <a class="product" href=${addresses.bench}>${words.product}</a>
      <nav aria-label=${words.nav.label}>
        ${link('bench', addresses.bench, words.nav.bench)}
        ${link('plan', addresses.plan, words.nav.plan)} ${link('log', addresses.log, words.nav.log)}
        ${link('ledger', addresses.ledger, words.nav.ledger)}
        ${link('alerts', addresses.alerts, words.nav.alerts)}
        ${link('setup', addresses.setup, words.nav.setup)}
      </nav>
      <span class="studio">${connection.bench?.studio}</span>
    </header>`;
  }

  /** Kept in its place even when empty, so that its coming is announced. */
  #freshness(): TemplateResult {
    const since = clockSeconds(connection.silentSinceWallMs);
    if (access.ended) {
      return html`<div role="status" class="freshness">
        ${accessWords.ended(since)}
        <button type="button" @click=${() => location.reload()}>${accessWords.again}</button>
      </div>`;
    }
    const text = {
      connecting:
        Date.now() - connection.silentSinceWallMs > patienceMs ? words.connection.connecting : '',
      live: '',
      stale:
        connection.bench?.controlAlive === false
          ? words.connection.control(since)
          : words.connection.away(since),
      outdated: words.connection.outdated,
    }[connection.state];
    return html`<div role="status" class="freshness" ?hidden=${text === ''}>
      ${text}
      ${
        connection.state === 'outdated'
          ? html`<button type="button" @click=${() => location.reload()}>
              ${words.connection.reload}
            </button>`
          : nothing
      }
    </div>`;
  }

  /** On every page but the one that shows them: a decision that is due is not missed. */
  #waiting(): unknown {
    const count = connection.bench?.interrupted.length ?? 0;
    if (count === 0 || this.route.page === 'bench') return nothing;
    return html`<section class="waiting-line" aria-label=${interruptedWords.label}>
      ${interruptedWords.waits(count)} <a href=${addresses.bench}>${interruptedWords.decide}</a>
    </section>`;
  }

  #footer(): TemplateResult {
    const choose = (event: Event): void =>
      applyLook((event.target as HTMLSelectElement).value as Look);
    return html`<footer>
      <a class="foot-link" href=${addresses.cautions}>${words.cautions.title}</a>
      <a class="foot-link" href=${addresses.alerts}>${alarmWords.sound[attention.sound]}</a>
      <access-line></access-line>
      <label class="look">
        ${words.look.label}
        <select @change=${choose}>
          ${looks.map(
            (look) =>
              html`<option value=${look} ?selected=${look === chosenLook()}>
                ${words.look[look]}
              </option>`,
          )}
        </select>
      </label>
    </footer>`;
  }

  override render(): TemplateResult {
    const { state } = connection;
    const beside = this.route.page === 'run' ? this.route.tankId : '';
    return html`${this.#header()} ${this.#freshness()}
      <alarm-banner></alarm-banner>
      <turn-line .besideId=${beside}></turn-line>
      ${this.#waiting()} ${limitsLine()}
      <main id="page" tabindex="-1" class=${state === 'stale' || access.ended ? 'stale' : ''}>
        ${
          this.failed
            ? html`<p>${words.failed}</p>`
            : state === 'outdated'
              ? nothing
              : pageFor(this.route)
        }
      </main>
      ${this.#footer()}
      <off-bar></off-bar>`;
  }
}

customElements.define('access-line', AccessLine);
customElements.define('alarm-banner', AlarmBanner);
customElements.define('off-bar', OffBar);
customElements.define('turn-line', TurnLine);
customElements.define('night-shell', NightShell);
