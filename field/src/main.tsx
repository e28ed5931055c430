import { render } from "preact";
import { registerSW } from "virtual:pwa-register";
import { desk } from "./app/desk.ts";
import { App } from "./pages/app.tsx";
import "./style/app.css";

if ("serviceWorker" in navigator) registerSW({ immediate: true });

const root = document.getElementById("app");
if (root !== null) render(<App />, root);

desk.start().catch((error: unknown) => {
  desk.trouble.value = `This device cannot keep calls: ${String(error)}`;
  desk.ready.value = true;
});
