export default { extends: ["stylelint-config-standard"] };
