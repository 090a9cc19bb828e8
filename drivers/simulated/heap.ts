/** Events in the order of their time, and within one moment in the order in which they were asked for. */

/** Something that is due at a moment, ms; `order` decides within one. */
export interface Entry {
  dueMs: number;
  order: number;
}

/** The one that is due next comes out first. */
export class Heap<Item extends Entry> {
  readonly #items: Item[] = [];

  get first(): Item | undefined {
    return this.#items[0];
  }

  push(item: Item): void {
    const items = this.#items;
    let at = items.length;
    while (at > 0) {
      const parentAt = (at - 1) >> 1;
      const parent = items[parentAt];
      if (parent === undefined || !before(item, parent)) break;
      items[at] = parent;
      at = parentAt;
    }
    items[at] = item;
  }

  pop(): Item | undefined {
    const items = this.#items;
    const first = items[0];
    const last = items.pop();
    if (first === undefined || last === undefined || items.length === 0) return first;
    let at = 0;
    for (;;) {
      const left = 2 * at + 1;
      const leftItem = items[left];
      if (leftItem === undefined) break;
      const rightItem = items[left + 1];
      const useRight = rightItem !== undefined && before(rightItem, leftItem);
      const child = useRight ? rightItem : leftItem;
      if (!before(child, last)) break;
      items[at] = child;
      at = useRight ? left + 1 : left;
    }
    items[at] = last;
    return first;
  }
}

function before(one: Entry, other: Entry): boolean {
  return one.dueMs < other.dueMs || (one.dueMs === other.dueMs && one.order < other.order);
}
