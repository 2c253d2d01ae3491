// One program per MATERIAL; `discard` stays with the cloth so that early depth tests work elsewhere.

in vec3 place, direction, rest;
in vec4 paint, in_light;
in float open_sky;
out vec4 pixel;

uniform vec3 tint;

#if MATERIAL == SKIN
uniform vec3 lips, flush, scalp;

vec3 surface_colour(vec3 n, float sun) {
    float blotch = layered_noise(rest * 42.0), pore = noise(rest * 700.0), fine = noise(rest * 1900.0);
    vec3 colour = tint * (0.88 + 0.26 * blotch);
    colour *= mix(vec3(1.0), vec3(0.86, 0.80, 0.76) + vec3(0.24, 0.34, 0.40) * pore, 0.55);
    colour = mix(colour, flush, paint.y * 0.34);
    colour = mix(colour, lips * (0.85 + 0.3 * pore), paint.x * 0.72);
    colour = mix(colour, min(vec3(0.24, 0.10, 0.07), 0.85 * colour), paint.z * 0.34);
    colour = mix(colour, scalp, paint.w * 0.85);
    vec3 shift_x = vec3(0.35, 0, 0), shift_y = vec3(0, 0.35, 0), shift_z = vec3(0, 0, 0.35);
    vec3 slope = vec3(noise(rest * 700.0 + shift_x), noise(rest * 700.0 + shift_y), noise(rest * 700.0 + shift_z)) - pore;
    float roughness = 0.46 + 0.12 * (fine - 0.5) - 0.10 * paint.x;
    Material skin = Material(colour, vec3(0.38, 0.17, 0.10), roughness, 0.030);
    return shaded(place, normalize(n - slope * 0.16), skin, open_sky, sun);
}
#endif

#if MATERIAL == SHIRT || MATERIAL == SHORTS
uniform float hem_height;
uniform float sleeve_end;

vec3 folds(vec3 p) {
    float e = 0.09, here = layered_noise(p);
    return vec3(layered_noise(p + vec3(e, 0, 0)), layered_noise(p + vec3(0, e, 0)), layered_noise(p + vec3(0, 0, e))) - here;
}

vec3 surface_colour(vec3 n, float sun) {
    if (rest.y < hem_height) discard;
    float seam = 1.0;
#if MATERIAL == SHIRT
    float from_neck = length(vec2(rest.x / 0.080, (rest.z - 0.010) / 0.078));
    float yoke = 1.43 + 4.5 * rest.x * rest.x;
    if ((from_neck < 1.0 && rest.y > 1.30) || (abs(rest.x) < 0.11 && rest.y > yoke)) discard;
    if (paint.x > sleeve_end) discard;
    if (paint.x > sleeve_end - 0.03 || (from_neck < 1.16 && rest.y > 1.30)) seam = 0.82;
#endif
    if (rest.y < hem_height + 0.012) seam *= 0.86;
    if (!gl_FrontFacing) seam *= 2.5;  // the inside glows with light that comes through the cloth
    vec3 colour = tint * (0.9 + 0.2 * noise(rest * 900.0)) * (0.94 + 0.12 * layered_noise(rest * 9.0)) * seam;
    n = normalize(n - folds(rest * vec3(10.0, 16.0, 10.0)) * 2.2);
    return shaded(place, n, Material(colour, vec3(0.0), 0.85, 0.02), open_sky, sun);
}
#endif

#if MATERIAL == PLAIN
vec3 surface_colour(vec3 n, float sun) {
    return shaded(place, n, Material(tint, vec3(0.1), 0.3, 0.04), open_sky * 0.8, sun);
}
#endif

#if MATERIAL == ROOM
uniform vec3 feet[FEET];

float contact(vec3 foot) {
    vec2 away = (place - foot).xz;
    return 0.55 * exp(-dot(away, away) / 0.012);
}

vec3 surface_colour(vec3 n, float sun) {
    vec3 colour = tint * (0.94 + 0.12 * layered_noise(place * 7.0)) * (0.985 + 0.03 * noise(place * 300.0));
    float open_floor = 1.0;
    if (n.y > 0.9 && place.y < 0.02) {
        for (int i = 0; i < FEET; i++) open_floor -= contact(feet[i]);
        open_floor = max(open_floor, 0.25);
    }
    return shaded(place, n, Material(colour, vec3(0.0), 0.55, 0.03), open_sky * open_floor, mix(sun, 1.0, 0.15));
}
#endif

#if MATERIAL == EYE
uniform vec3 eye_centre;
uniform float eye_radius;
uniform mat3 eye_axes, head_axes;
uniform sampler2D eye_picture;
uniform float lid_height;

float glint(vec3 n, vec3 view, vec3 light, float sharpness) {
    return pow(max(dot(n, normalize(view + light)), 0.0), sharpness);
}

vec3 surface_colour(vec3 n, float sun) {
    vec3 in_eye = eye_axes * ((place - eye_centre) / eye_radius);
    vec3 in_head = head_axes * ((place - eye_centre) / eye_radius);
    vec3 colour = texture(eye_picture, in_eye.xy * 0.5 + 0.5).rgb;
    float under_lid = 0.62 * smoothstep(lid_height - 0.32, lid_height, in_head.y);
    float in_corner = 0.30 * smoothstep(0.30, 0.80, abs(in_head.x));
    float on_lower_lid = 0.25 * smoothstep(0.10, 0.42, -in_head.y);
    float open_eye = max(1.0 - under_lid - in_corner - on_lower_lid, 0.18);
    vec3 key = key_colour * max(dot(n, key_direction) * 0.6 + 0.4, 0.0) * mix(0.55, 1.0, sun);
    vec3 fill = fill_colour * max(dot(n, fill_direction) * 0.6 + 0.4, 0.0);
    vec3 c = colour * (key + fill + 0.5 * (sky_colour + ground_colour)) * open_eye;
    vec3 bulge = normalize(transpose(eye_axes) * vec3(in_eye.xy * 1.5, 0.8));
    vec3 cornea = normalize(mix(n, bulge, smoothstep(0.44, 0.30, length(in_eye.xy))));
    vec3 view = normalize(camera_at - place);
    float seen = smoothstep(0.15, 0.4, open_eye);
    c += key_colour * 0.75 * glint(cornea, view, key_direction, 500.0) * seen;
    c += fill_colour * 0.5 * glint(cornea, view, fill_direction, 300.0) * seen;
    return c + 0.035 * sky_colour * open_eye;
}
#endif

#if MATERIAL == LENS
float mirrored = 0.0;  // share of the light that is mirrored and not let through

vec3 surface_colour(vec3 n, float sun) {
    vec3 view = normalize(camera_at - place), ray = reflect(-view, n);
    float fresnel = 0.04 + 0.5 * pow(1.0 - max(dot(n, view), 0.0), 4.0);
    float lamp = smoothstep(0.93, 0.97, dot(ray, key_direction)), window = smoothstep(0.90, 0.95, dot(ray, fill_direction));
    mirrored = clamp(fresnel + 0.45 * lamp + 0.30 * window, 0.0, 0.8);
    vec3 c = mix(ground_colour, sky_colour, ray.y * 0.5 + 0.5);
    return c + 0.5 * key_colour * lamp + 0.5 * fill_colour * window;
}
#endif

void main() {
    vec3 n = normalize(direction);
#if MATERIAL != EYE
    if (!gl_FrontFacing) n = -n;
#endif
#if MATERIAL == ROOM
    float sun = lit(in_light, 2.2);
#else
    float sun = lit(in_light, 1.0);
#endif
    pixel = vec4(developed(surface_colour(n, sun)), 1.0);
#if MATERIAL == LENS
    pixel.a = mirrored;
#endif
}
