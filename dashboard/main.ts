/** The page's entry: puts on the chosen look, asks who this page is, shows the shell or the way in. */

import { access } from './access.ts';
import { applyLook, chosenLook } from './theme.ts';

async function begin(): Promise<void> {
  await access.ask();
  if (access.closed) {
    const { SignInPage } = await import('./sign-in-page.ts');
    document.body.prepend(new SignInPage());
    return;
  }
  const [{ NightShell }, { connection }] = await Promise.all([
    import('./shell.ts'),
    import('./connection.ts'),
  ]);
  connection.start();
  document.body.prepend(new NightShell());
}

applyLook(chosenLook());
await begin();
