/** The outbox as the control thread sees it: promises in front of the database thread. */

import { checkedFinite, checkedPosting } from './checks.ts';
import type { ChannelHistory, DeliveryMark, OpenDelivery, OutboxStore, Posting } from './door.ts';
import type { OperationCall, OperationName } from './thread-messages.ts';

type Ask = <Answer>(callWith: (id: number) => OperationCall) => Promise<Answer>;

/** A mark that the disk refuses trips no run: the message is then sent once more after a restart. */
export const outboxOperations: ReadonlySet<OperationName> = new Set([
  'postMessage',
  'markDelivery',
  'openDeliveries',
  'channelHistory',
  'confirmTest',
]);

export class OutboxProxy implements OutboxStore {
  readonly #ask: Ask;

  constructor(ask: Ask) {
    this.#ask = ask;
  }

  async post(posting: Posting): Promise<void> {
    const given: [Posting] = [checkedPosting(posting)];
    await this.#ask((id) => ({ kind: 'call', id, name: 'postMessage', given }));
  }

  async mark(messageId: string, channel: string, mark: DeliveryMark): Promise<void> {
    const given: [string, string, DeliveryMark] = [messageId, channel, mark];
    await this.#ask((id) => ({ kind: 'call', id, name: 'markDelivery', given }));
  }

  open(): Promise<readonly OpenDelivery[]> {
    return this.#ask((id) => ({ kind: 'call', id, name: 'openDeliveries', given: [] }));
  }

  channels(): Promise<readonly ChannelHistory[]> {
    return this.#ask((id) => ({ kind: 'call', id, name: 'channelHistory', given: [] }));
  }

  async confirm(
    code: string,
    wallMs: number,
    sinceWallMs: number,
  ): Promise<{ readonly channel: string; readonly print: string } | null> {
    const given: [string, number, number] = [
      code,
      checkedFinite('wallMs', wallMs),
      checkedFinite('sinceWallMs', sinceWallMs),
    ];
    return this.#ask((id) => ({ kind: 'call', id, name: 'confirmTest', given }));
  }
}
