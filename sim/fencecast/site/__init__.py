"""What the user describes: the site file, its checks, and the geometry of fences, obstacles and cameras."""

from fencecast.site.quantity import Quantity
from fencecast.site.whole import SCHEMA, Site, as_site, load_site, parse_site
from fencecast.site.without import without_cameras
from fencecast.site.write import site_to_toml

__all__ = ["SCHEMA", "Quantity", "Site", "as_site", "load_site", "parse_site", "site_to_toml", "without_cameras"]
