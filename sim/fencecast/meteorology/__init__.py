"""What air, sky and ground are doing: weather classes, and the hours of a record (`records` reads them)."""
