// SHA-256 (FIPS 180-4) and HMAC (RFC 2104) for pages that are opened as a file: browsers keep their
// own back where there is no secure context.

function fraction(root: number): number {
  return Math.floor((root - Math.floor(root)) * 2 ** 32) >>> 0;
}

// The first 32 bits of the fractions of square roots (of 8) and cube roots (of 64) of primes.
function constants(): { start: number[]; rounds: number[] } {
  const primes: number[] = [];
  for (let n = 2; primes.length < 64; n++) {
    if (primes.every((prime) => n % prime !== 0)) {
      primes.push(n);
    }
  }
  return {
    start: primes.slice(0, 8).map((prime) => fraction(Math.sqrt(prime))),
    rounds: primes.map((prime) => fraction(Math.cbrt(prime))),
  };
}

const { start, rounds } = constants();

function turn(word: number, by: number): number {
  return (word >>> by) | (word << (32 - by));
}

function block(state: number[], view: DataView, at: number): void {
  const w = new Array<number>(64).fill(0);
  for (let i = 0; i < 64; i++) {
    if (i < 16) {
      w[i] = view.getUint32(at + i * 4);
      continue;
    }
    const a = w[i - 15] ?? 0;
    const b = w[i - 2] ?? 0;
    const low = turn(a, 7) ^ turn(a, 18) ^ (a >>> 3);
    const high = turn(b, 17) ^ turn(b, 19) ^ (b >>> 10);
    w[i] = ((w[i - 16] ?? 0) + low + (w[i - 7] ?? 0) + high) | 0;
  }
  let [a = 0, b = 0, c = 0, d = 0, e = 0, f = 0, g = 0, h = 0] = state;
  for (let i = 0; i < 64; i++) {
    const high = turn(e, 6) ^ turn(e, 11) ^ turn(e, 25);
    const chosen = (e & f) ^ (~e & g);
    const one = (h + high + chosen + (rounds[i] ?? 0) + (w[i] ?? 0)) | 0;
    const low = turn(a, 2) ^ turn(a, 13) ^ turn(a, 22);
    const two = (low + ((a & b) ^ (a & c) ^ (b & c))) | 0;
    [h, g, f, e, d, c, b, a] = [g, f, e, (d + one) | 0, c, b, a, (one + two) | 0];
  }
  [a, b, c, d, e, f, g, h].forEach((word, i) => {
    state[i] = ((state[i] ?? 0) + word) | 0;
  });
}

export function sha256(bytes: Uint8Array): Uint8Array {
  const padded = new Uint8Array(Math.ceil((bytes.length + 9) / 64) * 64);
  padded.set(bytes);
  padded[bytes.length] = 0x80;
  const view = new DataView(padded.buffer);
  view.setUint32(padded.length - 8, Math.floor(bytes.length / 2 ** 29));
  view.setUint32(padded.length - 4, (bytes.length * 8) >>> 0);
  const state = [...start];
  for (let at = 0; at < padded.length; at += 64) {
    block(state, view, at);
  }
  const out = new DataView(new ArrayBuffer(32));
  state.forEach((word, i) => out.setInt32(i * 4, word));
  return new Uint8Array(out.buffer);
}

export function mac(key: Uint8Array, bytes: Uint8Array): Uint8Array {
  const filled = new Uint8Array(64);
  filled.set(key.length > 64 ? sha256(key) : key);
  const join = (pad: number, more: Uint8Array) =>
    sha256(new Uint8Array([...filled.map((byte) => byte ^ pad), ...more]));
  return join(0x5c, join(0x36, bytes));
}

export function hex_bytes(hex: string): Uint8Array {
  return new Uint8Array((hex.match(/../g) ?? []).map((pair) => parseInt(pair, 16)));
}

export function sha256_hex(bytes: Uint8Array): string {
  return [...sha256(bytes)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}
