"""Results, views and blind ground as things on a map; `maps.writing` writes them."""
