"""The sheet that pictures are drawn on: page, style, labels, key, fonts, pixel fields."""
