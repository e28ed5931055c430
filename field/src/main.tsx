import { render } from "preact";
import { desk } from "./app/desk.ts";
import { App } from "./pages/app.tsx";
import "./style/base.css";
import "./style/frame.css";
import "./style/controls.css";
import "./style/lists.css";
import "./style/drawings.css";

// A new version is taken at the next start: a page is never loaded anew under somebody's hands.
if ("serviceWorker" in navigator) {
  const base = import.meta.env.BASE_URL;
  navigator.serviceWorker.register(`${base}sw.js`, { scope: base }).catch((error: unknown) => {
    console.info("starting without signal will not work here:", error);
  });
}

const root = document.getElementById("app");
if (root !== null) render(<App />, root);

desk.start().catch((error: unknown) => {
  desk.trouble.value = `This device cannot keep calls: ${String(error)}`;
  desk.ready.value = true;
});
