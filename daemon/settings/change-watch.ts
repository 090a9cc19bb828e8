/** Tells whether the settings have been changed since the bench was started on them. */

import { readEditable } from './edit/save.ts';
import { loadSettings } from './load.ts';

/**
 * Whether the settings are other ones than now, and can be used: another text, or a file of the maker's own
 * that was made since. Settings that cannot be used are nothing to start anew on: whoever loads them says why.
 */
export function changeWatch(file: string, env: NodeJS.ProcessEnv): () => boolean {
  const read = (): { readonly file: string; readonly hash: string } | null => {
    try {
      return readEditable({ configPath: file, env });
    } catch {
      return null;
    }
  };
  const began = read()?.hash;
  return () => {
    const now = read();
    return now !== null && now.hash !== began && canBeUsed(now.file, env);
  };
}

function canBeUsed(configPath: string, env: NodeJS.ProcessEnv): boolean {
  try {
    loadSettings({ configPath, env });
    return true;
  } catch {
    return false;
  }
}
