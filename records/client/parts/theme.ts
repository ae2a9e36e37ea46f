// Light, dark or as the device: kept in a cookie, so that the server sends the page in it at once.

const YEAR_S = 365 * 24 * 3600;

export function startTheme(): void {
  document.addEventListener("change", (event) => {
    const choice = event.target;
    if (!(choice instanceof HTMLInputElement) || !choice.closest("[data-theme-choice]")) return;
    document.documentElement.dataset["theme"] = choice.value;
    const age = choice.value ? YEAR_S : 0;
    document.cookie = `theme=${choice.value}; path=/; max-age=${age}; samesite=lax`;
    document.dispatchEvent(new CustomEvent("antequem:theme"));
  });
}
