// The standard functions of a browser that our modules use and the bare language lacks.
// Only what they use: UTF-8 decoded strictly with its byte order mark kept, base64 as text.
globalThis.TextEncoder = class {
  encode(text) {
    return Uint8Array.from(unescape(encodeURIComponent(text.toWellFormed())), (sign) => sign.charCodeAt(0));
  }
};
globalThis.TextDecoder = class {
  constructor(encoding, { fatal, ignoreBOM }) {
    if (encoding !== "utf-8" || !fatal || !ignoreBOM) throw new TypeError("only strict UTF-8 is decoded here");
  }

  decode(bytes) {
    return decodeURIComponent(escape(binary(bytes)));
  }
};
globalThis.btoa = (text) => Uint8Array.from(text, (sign) => sign.charCodeAt(0)).toBase64();
globalThis.atob = (text) => binary(Uint8Array.fromBase64(text));

function binary(bytes) {
  return Array.from(bytes, (byte) => String.fromCharCode(byte)).join("");
}

// How an answer crosses to the caller: as JSON, the message of an error too.
function answerOf(work) {
  try {
    return JSON.stringify({ value: work() });
  } catch (error) {
    return JSON.stringify({ failed: error instanceof Error ? error.message : String(error) });
  }
}
