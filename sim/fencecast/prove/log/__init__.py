"""The log of a walk test as it comes back from the site: read, refused in one report, made into walks."""
