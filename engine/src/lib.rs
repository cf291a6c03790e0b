//! Airflow physics, sizing and balancing of hot-air oven duct networks.
