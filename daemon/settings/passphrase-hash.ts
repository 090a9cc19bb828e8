/** Hashes of passphrases: scrypt, with its parameters and its salt in the text that is kept. */

import { randomBytes, scrypt, timingSafeEqual } from 'node:crypto';

interface Cost {
  /** Logarithm to base 2 of the number of blocks. */
  readonly logN: number;
  readonly r: number;
  readonly p: number;
}

// OWASP, Password Storage Cheat Sheet: N = 2^15, r = 8, p = 3 is as dear as 2^17 with p = 1, and
// takes a quarter of its memory, which a small board has better uses for.
const cost: Cost = { logN: 15, r: 8, p: 3 };
const saltBytes = 16;
const hashBytes = 32;

/** Shortest and longest passphrase, characters. */
export const passphraseLength = { min: 12, max: 256 } as const;

const form = /^\$scrypt\$ln=(\d{1,2}),r=(\d{1,2}),p=(\d{1,2})\$([A-Za-z0-9+/]+)\$([A-Za-z0-9+/]+)$/;

interface Parsed {
  readonly cost: Cost;
  readonly salt: Buffer;
  readonly hash: Buffer;
}

/** One passphrase typed on two keyboards is the same text only after this. */
function bytesOf(passphrase: string): Buffer {
  return Buffer.from(passphrase.normalize('NFKC'), 'utf8');
}

function derive(passphrase: string, salt: Buffer, length: number, { logN, r, p }: Cost) {
  const N = 2 ** logN;
  return new Promise<Buffer>((resolve, reject) => {
    // Node asks for a little more than the 128 N r that the function itself uses.
    const options = { N, r, p, maxmem: 128 * r * (N + p + 2) + 1024 * 1024 };
    scrypt(bytesOf(passphrase), salt, length, options, (error, key) => {
      if (error === null) resolve(key);
      else reject(error);
    });
  });
}

/** The text to keep of a passphrase. */
export async function hashPassphrase(passphrase: string): Promise<string> {
  const salt = randomBytes(saltBytes);
  const hash = await derive(passphrase, salt, hashBytes, cost);
  const { logN, r, p } = cost;
  return `$scrypt$ln=${logN},r=${r},p=${p}$${plain(salt)}$${plain(hash)}`;
}

function plain(bytes: Buffer): string {
  return bytes.toString('base64').replaceAll('=', '');
}

function parse(kept: string): Parsed | null {
  const [, logN, r, p, salt = '', hash = ''] = form.exec(kept) ?? [];
  if (logN === undefined) return null;
  const parsed: Parsed = {
    cost: { logN: Number(logN), r: Number(r), p: Number(p) },
    salt: Buffer.from(salt, 'base64'),
    hash: Buffer.from(hash, 'base64'),
  };
  const { cost: given } = parsed;
  const sound =
    given.logN >= 14 &&
    given.logN <= 18 &&
    given.r >= 1 &&
    given.r <= 16 &&
    given.p >= 1 &&
    given.p <= 16 &&
    parsed.salt.length >= 8 &&
    parsed.hash.length >= 32;
  return sound ? parsed : null;
}

/** Whether a text is such a hash, with parameters that are neither weak nor beyond this machine. */
export function isPassphraseHash(kept: string): boolean {
  return parse(kept) !== null;
}

/** Whether a passphrase is the one that was hashed; takes as long for either answer. */
export async function matchesPassphrase(passphrase: string, kept: string): Promise<boolean> {
  const parsed = parse(kept);
  if (parsed === null) return false;
  const hash = await derive(passphrase, parsed.salt, parsed.hash.length, parsed.cost);
  // The HMAC under scrypt fills a short key up with zeros, so one that ends in them would match too.
  return timingSafeEqual(hash, parsed.hash) && !passphrase.includes('\u0000');
}

/** Why a passphrase is not taken, as a sentence; null when it is. */
export function passphraseProblem(passphrase: string): string | null {
  const { length } = Array.from(passphrase);
  if (length < passphraseLength.min || length > passphraseLength.max) {
    return `The passphrase has ${length} characters; it must have ${passphraseLength.min} to ${passphraseLength.max}.`;
  }
  if (/\p{Cc}/u.test(passphrase)) return 'The passphrase may not hold control characters.';
  if (new Set(passphrase).size < 5)
    return 'The passphrase must hold at least 5 different characters.';
  return null;
}
