"""The demo shop: some weeks in it, played by calling the services only, with drawn photographs."""
