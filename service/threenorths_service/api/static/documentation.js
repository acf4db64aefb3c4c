"use strict";

// Every address is relative, so that the page also works behind a proxy that adds a prefix to its path.
SwaggerUIBundle({
  url: "openapi.json",
  dom_id: "#operations",
  deepLinking: true,
  docExpansion: "list",
  defaultModelsExpandDepth: 0,
  displayRequestDuration: true,
  tryItOutEnabled: true,
  // Otherwise the page would send the description to a validator on another host.
  validatorUrl: null,
});
