import { VitePWA } from "vite-plugin-pwa";
import { defineConfig } from "vitest/config";

const SERVER = process.env["CATCHPAN_SERVER"] ?? "http://127.0.0.1:8000";

export default defineConfig({
  base: "/field/",
  build: { outDir: "dist", target: "es2022", sourcemap: false },
  server: { proxy: { "/api": SERVER } },
  plugins: [
    VitePWA({
      registerType: "prompt",
      injectRegister: false,
      includeAssets: ["icon.svg"],
      manifest: {
        name: "catchpan",
        short_name: "catchpan",
        description: "The service call in the hand, with and without signal",
        start_url: "/field/",
        scope: "/field/",
        display: "standalone",
        background_color: "#f6f4ef",
        theme_color: "#12343b",
        icons: [{ src: "icon.svg", sizes: "any", type: "image/svg+xml", purpose: "any" }],
      },
      workbox: {
        globPatterns: ["**/*.{js,css,html,svg,woff2}"],
        navigateFallback: "/field/index.html",
        navigateFallbackAllowlist: [/^\/field\//],
        cleanupOutdatedCaches: true,
        skipWaiting: true,
        clientsClaim: true,
      },
    }),
  ],
  test: { include: ["test/**/*.test.ts"], environment: "node" },
});
