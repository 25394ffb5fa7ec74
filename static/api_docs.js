// Draws the API description from our own openapi.json with the Swagger UI files under static/vendor.
const place = document.getElementById("api-description");
window.SwaggerUIBundle({
  url: place.dataset.description,
  domNode: place,
  deepLinking: true,
  validatorUrl: null,
});
