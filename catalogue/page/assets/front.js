// Runs before the page is loaded. The server is where the page came from: nobody has to look for it below the view's
// address, and no other page may send it messages.
window.__streamlit = {
  BACKEND_BASE_URL: location.origin,
  HOST_CONFIG: { allowedOrigins: [location.origin], useExternalAuthToken: false, enableCustomParentMessages: false, metricsUrl: "" },
};
// An address that says more of the same view takes the place of the last one: Back leads to the view before, in one press.
{
  const push = history.pushState;
  history.pushState = function (state, title, address) {
    const same = new URL(address ?? location.href, location.href).pathname === location.pathname;
    (same ? history.replaceState : push).call(history, state, title, address);
  };
}
