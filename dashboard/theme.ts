/** Night or day: follows the system unless the maker has chosen. */

export type Look = 'system' | 'dark' | 'light';
export const looks: readonly Look[] = ['system', 'dark', 'light'];

const key = 'nightbath.look';

/** What this browser keeps under a name; storage may be forbidden. */
export function kept(name: string): string | null {
  try {
    return localStorage.getItem(name);
  } catch {
    return null;
  }
}

export function keep(name: string, value: string): void {
  try {
    localStorage.setItem(name, value);
  } catch {
    // Without storage the page works; it only forgets.
  }
}

export function chosenLook(): Look {
  return looks.find((look) => look === kept(key)) ?? 'system';
}

export function applyLook(look: Look): void {
  document.documentElement.dataset['look'] = look;
  keep(key, look);
  dispatchEvent(new Event('look'));
}

/** A colour of the theme as the canvas needs it: resolved for the look that is on. */
export function themeColour(token: string): string {
  const probe = document.createElement('i');
  probe.hidden = true;
  probe.style.color = `var(--${token})`;
  document.body.append(probe);
  const { color } = getComputedStyle(probe);
  probe.remove();
  return color;
}
