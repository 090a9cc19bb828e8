/** Keeps the keyboard's place where a control goes away under it, as an off switch does once it is off. */

/** The parts of a page around an element, the nearest first, which can stand in for it. */
function placesAround(element: Element): HTMLElement[] {
  const place = element.parentElement?.closest<HTMLElement>(
    'section, article, form, alarm-banner, turn-line, off-bar, main',
  );
  return place ? [place, ...placesAround(place)] : [];
}

/** From now on the focus goes to what was around a control that is taken out, never to the start of the page. */
export function keepFocus(root: HTMLElement): void {
  let held: HTMLElement | null = null;
  let around: readonly HTMLElement[] = [];
  root.addEventListener('focusin', ({ target }) => {
    held = target as HTMLElement;
    around = placesAround(held);
  });
  new MutationObserver(() => {
    if (held === null || held.isConnected || document.activeElement !== document.body) return;
    // The heading of a page stands anew where what it shows is another, as when a run comes to a tank.
    const heading = held.tagName === 'H1' ? root.querySelector<HTMLElement>('h1') : null;
    const place = heading ?? around.find((one) => one.isConnected);
    held = null;
    place?.setAttribute('tabindex', '-1');
    place?.focus({ preventScroll: true });
  }).observe(root, { childList: true, subtree: true });
}

/** A key that is held down presses once: repeats of Enter press nothing and send no form. */
export function pressOnce(root: HTMLElement): void {
  root.addEventListener('keydown', (event) => {
    const writes = event.target instanceof HTMLTextAreaElement;
    if (event.repeat && event.key === 'Enter' && !writes) event.preventDefault();
  });
}
