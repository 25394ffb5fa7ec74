"""One module per area, each with its `router`. `app.main` lists them."""
