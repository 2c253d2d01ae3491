in vec3 place, direction;
in vec2 strand;  // x: 0 at the root, 1 at the tip; y: shade of this strand, 0 to 1
in vec4 in_light;
out vec4 pixel;

uniform vec3 tint;
uniform vec3 hair_centre;
uniform float root_darkness;

float across(float cosine) {
    return sqrt(max(1.0 - cosine * cosine, 0.0));
}

void main() {
    vec3 along = normalize(direction), view = normalize(camera_at - place);
    float sun = mix(0.35, 1.0, lit(in_light, 1.0));
    vec3 outward = normalize(place - hair_centre);
    vec3 colour = tint * (0.6 + 0.8 * strand.y) * mix(root_darkness, 1.0, strand.x);
    float key = dot(along, key_direction), seen = dot(along, view), fill = dot(along, fill_direction);
    float key_side = clamp(dot(outward, key_direction) * 0.6 + 0.4, 0.0, 1.0);
    float fill_side = clamp(dot(outward, fill_direction) * 0.6 + 0.4, 0.0, 1.0);
    vec3 sky = 0.6 * mix(ground_colour, sky_colour, outward.y * 0.5 + 0.5);
    vec3 c = colour * (key_colour * across(key) * key_side * sun + fill_colour * across(fill) * fill_side + sky);
    float key_shine = pow(max(across(key) * across(seen) - key * seen, 0.0), 40.0) * 0.05;
    float fill_shine = pow(max(across(fill) * across(seen) - fill * seen, 0.0), 30.0) * 0.03;
    vec3 shine = key_colour * key_side * sun * key_shine + fill_colour * fill_side * fill_shine;
    c += shine * mix(0.2, 1.0, strand.x);
    pixel = vec4(developed(c), 1.0);
}
