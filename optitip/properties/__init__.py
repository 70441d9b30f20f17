"""Air and materials at temperature."""
