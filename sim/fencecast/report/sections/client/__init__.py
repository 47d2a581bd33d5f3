"""Facts of the client edition. No module here may import what names a place or a camera (`tests/report/test_client.py`)."""
