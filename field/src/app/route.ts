/** Where the person is: the part of the address behind the hash. */

import { signal } from "@preact/signals";

export interface Route {
  readonly page: string;
  readonly callId: string;
  readonly rest: string;
}

function read(): Route {
  const [first = "", second = "", third = "", ...rest] = location.hash.replace(/^#\/?/, "").split("/");
  if (first === "call") {
    return { page: third === "" ? "now" : third, callId: second, rest: decodeURIComponent(rest.join("/")) };
  }
  return { page: first === "" ? "calls" : first, callId: "", rest: second };
}

/** An address with the page in its path, as the server prints it, becomes one with a hash. */
const base = import.meta.env.BASE_URL;
const tail = location.pathname.slice(base.length);
if (location.pathname.startsWith(base) && tail !== "" && tail !== "index.html") {
  history.replaceState(null, "", `${base}#/${tail}`);
}

export const route = signal<Route>(read());

window.addEventListener("hashchange", () => {
  route.value = read();
});

export function go(path: string): void {
  location.hash = `#/${path}`;
}

export function callPath(callId: string, page = "", rest = ""): string {
  const tail = rest === "" ? "" : `/${encodeURIComponent(rest)}`;
  return page === "" ? `call/${callId}` : `call/${callId}/${page}${tail}`;
}
