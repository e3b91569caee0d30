"""The demonstration: an invented network's birds, planned and mixed for through the service's own API."""
