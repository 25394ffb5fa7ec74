"""Who may come in, and from where. Pure decisions over plain values; `app.web.gate` applies them."""
