/** The base of the parts of the Setup page: they share its desk and render with it. */

import { LiveElement } from '../live-element.ts';
import type { SetupDesk } from './desk.ts';

export class SetupPart extends LiveElement {
  static override properties = { desk: { attribute: false }, turn: { attribute: false } };
  declare desk: SetupDesk;
  /** Grows with each change of the desk, so that the part renders anew. */
  declare turn: number;
  protected readonly changed = (): void => this.requestUpdate();
}
