/** The base of components that show the bench: each change of it renders them anew. */

import { connection } from './connection.ts';
import { NightElement } from './element.ts';

export class LiveElement extends NightElement {
  #stop: (() => void) | null = null;

  override connectedCallback(): void {
    super.connectedCallback();
    this.#stop = connection.listen({ changed: () => this.requestUpdate() });
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#stop?.();
  }
}
