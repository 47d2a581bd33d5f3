"""Bills of materials: what a site asks for, item by item, with the user's prices; designs side by side."""
